"""The errors that a person can do something about."""

from __future__ import annotations

import unicodedata
from difflib import get_close_matches
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


class PlannerKitError(ValueError):
    """Something the person gave cannot be used; the text is one sentence that says what to do."""

    def _render_traceback_(self) -> list[str]:
        """What a notebook shows instead of the lines of code that led here."""
        return [str(self)]


class PlanFileError(PlannerKitError):
    """A file that a person gave cannot be used as it stands.

    Parameters
    ----------
    what : str
        What is wrong, with the value seen and the values allowed.
    where : str
        The file, and the key, row and column, line or byte in it.
    remedy : str
        What to do about it.
    """

    def __init__(self, what: str, where: str, remedy: str) -> None:
        self.what, self.where, self.remedy = shown(what), shown(where), shown(remedy)
        end = "" if self.remedy.endswith("?") else "."
        super().__init__(f"{self.where}: {self.what}; {self.remedy}{end}")


class NoRouteError(PlannerKitError):
    """The outfit cannot be brought from one place to another on the roads known."""


def shown(text: str, *, most: int = 400) -> str:
    r"""Text from a file as it may stand in a sentence or on a terminal.

    Parameters
    ----------
    text : str
    most : int, optional
        Longer text loses its middle. [character]

    Returns
    -------
    text : str
        Control characters, those that turn the direction of writing, and halves of a character
        are written out (``\x1b``, ``\u202e``); line ends are spaces.
    """
    text = text if len(text) <= most else f"{text[:most]}{text[-most:]}"  # enough of both ends
    if not (text.isascii() and text.isprintable()):
        text = "".join(_written_out(letter) for letter in text)
    return text if len(text) <= most else f"{text[: most * 2 // 3]} ... {text[-most // 4 :]}"


def _written_out(letter: str) -> str:
    if letter in "\n\r\t":
        return " "
    hidden = unicodedata.category(letter) in {"Cc", "Cf", "Cs", "Zl", "Zp"}
    return letter.encode("unicode_escape").decode("ascii") if hidden else letter


def nearest_name(wrong: str, allowed: Iterable[str]) -> str:
    """The advice that follows a name that is not known: the nearest one, or all of them.

    Parameters
    ----------
    wrong : str
        The name as the person wrote it.
    allowed : iterable of str
        The names that are known.

    Returns
    -------
    advice : str
        Such as ``"did you mean 'nights'?"`` or ``"use one of a, b, c"``; no full stop.
    """
    names = sorted(allowed)
    close = get_close_matches(wrong, names, n=1, cutoff=0.6)
    if close:
        return f"did you mean '{close[0]}'?"
    shown = ", ".join(names[:12]) + (", ..." if len(names) > 12 else "")
    return f"use one of {shown}" if names else "there is nothing to choose from"
