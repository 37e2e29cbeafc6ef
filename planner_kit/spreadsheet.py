"""Tables as CSV that a spreadsheet opens without obeying anything that stands in a cell."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

# OWASP, "CSV Injection", read 2026-11-25: cells that begin so may be taken for a formula. The wide
# forms are those of East Asian keyboards.
_FORMULA = re.compile(r"^[\s\u0000]*[=+\-@\t\r\n\u0000＝＋－＠]")
_NUMBER = re.compile(r"^[+-]?\d+(\.\d+)?$")


def csv_text(frame: pd.DataFrame) -> str:
    """A frame as CSV text; a cell of words that a spreadsheet would take for a formula is quoted.

    Parameters
    ----------
    frame : DataFrame

    Returns
    -------
    text : str
        Such cells begin with an apostrophe; numbers, also negative ones, stay numbers. Without the
        index.

    References
    ----------
    .. [1] OWASP, "CSV Injection", owasp.org/www-community/attacks/CSV_Injection.
    """
    safe = frame.map(as_words).rename(columns=as_words)
    return str(safe.to_csv(index=False))


def as_words(value: Any) -> Any:
    """A cell as a spreadsheet takes it for words, never for a formula."""
    if not isinstance(value, str):
        return value
    value = value.replace("\r\n", "\n").replace("\r", "\n")  # a lone one would end the row
    return f"'{value}" if _FORMULA.match(value) and not _NUMBER.match(value) else value
