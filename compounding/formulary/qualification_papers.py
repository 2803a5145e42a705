"""The report of a qualification, for people on paper and for programs."""

from __future__ import annotations

import base64
from dataclasses import asdict
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone

from compounding.formulary.published_tables import Result
from compounding.formulary.qualification import FORMULARY, Report

SHEET = settings.ROOT / "static" / "css" / "qualification.css"


def plain(report: Report) -> dict[str, Any]:
    """Return the report as plain data."""
    return {
        "passed": report.has_passed,
        "at": report.at.isoformat(timespec="seconds"),
        "program_version": report.program_version,
        "policy_version": report.policy_version,
        "parts": [asdict(part) for part in report.parts],
        "results": [asdict(result) for result in report.results],
    }


def written(report: Report) -> str:
    """Return the report as text: each part in numbers, the formulary row by row, every failure."""
    wide = max(len(part.name) for part in report.parts)
    seen, agree = report.seen
    lines = [_head(report), ""]
    lines += [f"{part.name:<{wide}}  {part.count:>4} run, {part.failed} failed" for part in report.parts]
    lines.append(f"Of the worked examples {seen} have an answer that was seen; {agree} of those agree.")
    lines += _listed("Known to be off in the source, not here", report.known)
    lines += _listed(f"{FORMULARY}, at the least and the most dose", _formulary(report))
    lines += _listed("Failed", report.failures)
    return "\n".join([*lines, "", verdict(report)]) + "\n"


def page(report: Report) -> str:
    """Return the report as one page of HTML to be printed, its style within it."""
    style = base64.b64encode(SHEET.read_bytes()).decode("ascii")
    context = {
        "report": report,
        "head": _head(report),
        "verdict": verdict(report),
        "formulary": _formulary(report),
        "sheet": f"data:text/css;base64,{style}",
    }
    return render_to_string("qualification/report.html", context)


def verdict(report: Report) -> str:
    """Return the outcome in a sentence."""
    if report.has_passed:
        return f"Passed: all {len(report.results):,} came out as they should."
    if not report.failures:
        return "Failed: the formulary holds no formulation in force, so nothing of the site's own was tried."
    return f"Failed: {len(report.failures):,} of {len(report.results):,} did not come out as they should."


def _head(report: Report) -> str:
    at = timezone.localtime(report.at).strftime("%Y-%m-%d %H:%M %Z")
    return f"Qualification of {at}, program {report.program_version}, policy {report.policy_version}"


def _formulary(report: Report) -> tuple[Result, ...]:
    return tuple(result for result in report.results if result.part == FORMULARY)


def _listed(title: str, results: tuple[Result, ...]) -> list[str]:
    if not results:
        return []
    rows = [line for result in results for line in _row(result)]
    return ["", title, *rows]


def _row(result: Result) -> list[str]:
    lines = [f"  {result.name}: {result.published}", f"    {result.found}"]
    return [*lines, f"    {result.remark}"] if result.remark else lines
