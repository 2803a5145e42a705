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
