"""Sources as paper names them: without addresses of pages, which nobody types in."""

from __future__ import annotations

import re

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
