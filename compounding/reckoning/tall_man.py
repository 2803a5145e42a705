"""Tall-man letters: how look-alike generic names of injectables are written apart.

From the lists of FDA and ISMP; the names of `REMEMBERED` come from memory and want checking before use.
Brand names of those lists are left out.
"""

from __future__ import annotations

import re

READ = (
    "acetaZOLAMIDE", "azaCITIDine", "CARBOplatin", "ceFAZolin", "cefTRIAXone", "chlorproMAZINE", "CISplatin",
    "cycloSERINE", "cycloSPORINE", "DACTINomycin", "DAPTOmycin", "DAUNOrubicin", "dimenhyDRINATE",
    "diphenhydrAMINE", "DOBUTamine", "DOPamine", "DOXOrubicin", "ePHEDrine", "EPINEPHrine", "fentaNYL",
    "hydrALAZINE", "HYDROmorphone", "hydrOXYzine", "inFLIXimab", "LORazepam", "metroNIDAZOLE", "niMODipine",
    "PENTobarbital", "PHENobarbital", "riTUXimab", "SUFentanil", "vinBLAStine", "vinCRIStine",
)  # fmt: skip
REMEMBERED = (
    "cefOXitin", "cefoTEtan", "cefTAZidime", "dexmedeTOMIDine", "DOCEtaxel", "IDArubicin", "levETIRAcetam",
    "levoFLOXacin", "medroxyPROGESTERone", "methylPREDNISolone", "niCARdipine", "PACLitaxel", "PEMEtrexed",
    "PRALAtrexate", "SUMAtriptan", "TORsemide",
)  # fmt: skip

TALL_MAN: dict[str, str] = {name.lower(): name for name in (*READ, *REMEMBERED)}

_WORD = re.compile(r"[A-Za-z]+")


def in_tall_man(text: str) -> str:
    """Return the text with every listed drug name in its tall-man letters, all else untouched."""
    return _WORD.sub(lambda word: TALL_MAN.get(word[0].lower(), word[0]), text)


def short_of_tall_man(text: str) -> tuple[tuple[int, str, str], ...]:
    """Return listed names written otherwise: where each begins, as written, as it should be."""
    found = ((word.start(), word[0], TALL_MAN.get(word[0].lower(), word[0])) for word in _WORD.finditer(text))
    return tuple(one for one in found if one[1] != one[2])


#: Names that are taken for one another, by those lists (pairs of READ: page; the others from memory). A name
#: stands in one group only; whoever holds one of a group and wants another has a look-alike in hand.
LOOK_ALIKES: tuple[frozenset[str], ...] = tuple(
    frozenset(group.split())
    for group in (
        "acetazolamide acetohexamide", "azacitidine azathioprine", "carboplatin cisplatin",
        "cefazolin ceftriaxone cefoxitin cefotetan ceftazidime", "chlorpromazine chlorpropamide",
        "cycloserine cyclosporine", "dactinomycin daptomycin", "daunorubicin doxorubicin idarubicin",
        "dimenhydrinate diphenhydramine", "dobutamine dopamine", "docetaxel paclitaxel",
        "ephedrine epinephrine norepinephrine", "fentanyl sufentanil",
        "hydralazine hydroxyzine hydromorphone morphine", "infliximab rituximab", "ketorolac ketamine",
        "levetiracetam levofloxacin", "lorazepam alprazolam", "methylprednisolone medroxyprogesterone",
        "nicardipine nimodipine", "pemetrexed pralatrexate", "pentobarbital phenobarbital",
        "vinblastine vincristine vinorelbine",
    )
)  # fmt: skip


def look_alike(one: str, other: str) -> bool:
    """Say whether two substances are on record as taken for one another; one is never its own look-alike."""
    words = {_first_word(one), _first_word(other)}
    return len(words) == 2 and any(words <= group for group in LOOK_ALIKES)


def _first_word(name: str) -> str:
    found = _WORD.search(name)
    return found[0].lower() if found else ""
