"""Sources as paper names them: without addresses of pages, which nobody types in."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner_kit.states import Check

_WHERE = (
    r"(?:text of (?:a|the) public law archive|copy(?: of [\w ]+?)?|reproduced|quoted(?: in full)?"
    r"|as (?:quoted|told|given|shown|stored|retold|summed up)(?: alike| in full)?)"
)
_ADDRESS = re.compile(
    rf"(?:[,;:]? (?:and|also|{_WHERE} at))*[,;:]? ?\(?https?://[^\s,;)]*[^\s,;):.]\)?(?=$|[\s,;:.)])"
)
_STORED = re.compile(r",? (?:read in )?(?:two |a )?stored cop(?:y|ies)")
_GAPS = re.compile(
    r"\s+(?:(?:also|and|told) )*at(?=$|[,;]| and$)|\s+(?=[,;.:)])|[,;](?=[,;.)])"
    r"|(?:[\s,;:]| and)+$"
)


def printed_source(source: str) -> str:
    """A source by title, edition and place in the text.

    Parameters
    ----------
    source : str
        As a reference table has it, with the addresses where it was read.

    Returns
    -------
    words : str
        The source itself where nothing else is left.
    """
    said = _GAPS.sub("", _GAPS.sub("", _STORED.sub("", _ADDRESS.sub("", source)))).strip()
    return said or source


# Of the sheet near the end where they stand.
SOURCES_TITLE = "Where this comes from"
_BASES = {
    "published": "Read in a published source",
    "plate": "From plates and handbooks, as the household typed them in",
    "common practice": "Rules of thumb, without a source",
    "from memory": "From memory: nobody has looked it up",
    "computed": "Worked out by the kit, from these",
}


def numbered_sources(
    checks: Iterable[Check],
) -> tuple[list[tuple[str, list[tuple[int, str]]]], dict[str, int]]:
    """What checks rest on, numbered through, those that were read first.

    Parameters
    ----------
    checks : iterable of Check

    Returns
    -------
    groups : list of (title, list of (number, words))
        A title for each basis; a source stands once.
    numbers : dict of str to int
        The number of each source as the checks have it.
    """
    rank = {basis: place for place, basis in enumerate(_BASES)}
    groups: dict[str, list[tuple[int, str]]] = {}
    told: dict[str, int] = {}
    numbers: dict[str, int] = {}
    for check in sorted(checks, key=lambda check: rank.get(check.basis, len(rank))):
        words = printed_source(check.source)
        if not words or words == "no source":
            continue
        if words not in told:
            told[words] = len(told) + 1
            title = _BASES.get(check.basis, check.basis)
            groups.setdefault(title, []).append((told[words], words))
        numbers[check.source] = told[words]
    return list(groups.items()), numbers
