"""A household's own look of pages: a template for paper, a style for the page on a phone."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from planner_kit.errors import PlanFileError
from planner_kit.trip.reading import resolve_inside

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.trip.household import Household

PAGE_LOOK, PAGE_TEMPLATE, PAGE_STYLE = "page look", "pack.typ", "style.css"
_MAX_STYLE_BYTES = 1_000_000
_ESCAPE = re.compile(r"\\(?:([0-9a-fA-F]{1,6})\s?|(.))", re.DOTALL)
# What would fetch something, or end the style and begin a page.
_REFUSED = (
    (re.compile(r"@import", re.I), "@import"),
    (re.compile(r"url\((?!\s*[\"']?\s*(?:data:|#))", re.I), "url() of a file or an address"),
    (re.compile(r"(?:image-set|\bimage|\bsrc)\(", re.I), "image-set(), image() or src()"),
    # A drawing names its language by an address that is never asked for.
    (
        re.compile(r"(?<!http)(?<!https)://|https?://(?!www\.w3\.org/)|[\"'(]\s*//", re.I),
        "an address",
    ),
    (re.compile(r"</style", re.I), "</style"),
)


def page_look_files(household: Household, household_path: Path) -> dict[str, Path]:
    """The files of the household's own look.

    Parameters
    ----------
    household : Household
    household_path : Path
        Its file, beside which the folder lies.

    Returns
    -------
    files : dict of str to Path
        Under `PAGE_LOOK` the template of printed pages, where there is one; the other files under
        ``page look`` and their name. Empty where the household has no look of its own.

    Raises
    ------
    PlanFileError
        If the folder leads elsewhere, holds neither template nor style, or the style cannot be
        used.
    """
    name = household.units.page_look
    if name is None:
        return {}
    folder = resolve_inside(name, household_path)
    template, style = folder / PAGE_TEMPLATE, folder / PAGE_STYLE
    if not template.is_file() and not style.is_file():
        raise PlanFileError(
            f"the folder '{name}' holds no {PAGE_TEMPLATE} and no {PAGE_STYLE}",
            f"{household_path}, units > page_look",
            "copy the kit's own from planner_kit/pack/template into it, and change the copy",
        )
    if style.is_file():
        own_style(style)
    beside = sorted(path for path in folder.rglob("*") if path.is_file() and path != template)
    return {
        **({PAGE_LOOK: template} if template.is_file() else {}),
        **{f"{PAGE_LOOK} {path.relative_to(folder).as_posix()}": path for path in beside},
    }


def own_style(path: Path) -> str:
    """A person's style sheet, fit to stand inside a page that needs no network.

    Parameters
    ----------
    path : Path
        A CSS file of at most 1 MB. Pictures and fonts stand in it as ``data:``.

    Returns
    -------
    style : str

    Raises
    ------
    PlanFileError
        If it cannot be read, would load something from elsewhere, or holds ``</style``.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise PlanFileError(
            f"it cannot be read ({error.strerror})", str(path), "check the file"
        ) from error
    if len(data) > _MAX_STYLE_BYTES:
        raise PlanFileError("it is larger than 1 MB", str(path), "make its pictures smaller")
    try:
        style = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise PlanFileError("it is not UTF-8 text", f"{path}, line {line}", "save it so") from None
    for number, line_of in enumerate(style.split("\n"), start=1):
        for told in (line_of, _ESCAPE.sub(_plain, line_of)):
            for pattern, what in _REFUSED:
                if pattern.search(told):
                    raise PlanFileError(
                        f"{what} has no place in it, since the page must need nothing from "
                        "elsewhere",
                        f"{path}, line {number}",
                        "leave it out, or put the picture or font in as data:",
                    )
    return style


def _plain(escape: re.Match[str]) -> str:
    """The sign that a backslash stands for in CSS."""
    if escape[1] is None:
        return escape[2]
    code = int(escape[1], 16)
    return chr(code) if 0 < code < 0x110000 else ""
