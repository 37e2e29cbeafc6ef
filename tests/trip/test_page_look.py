"""A household's own style for the page on a phone: taken when it needs nothing from elsewhere."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.trip.page_look import own_style


@pytest.mark.parametrize(
    "style",
    [
        "",
        "body{font:20px/1.6 sans-serif;background:#fffbe6}",
        "h1::before{content:'\\2022'}",
        "/* ours, made at the kitchen table */ .care{border:1px solid}",
        "h1{background:url(data:image/png;base64,iVBORw0KGgo=)}",
        "h1{background:url( 'data:image/svg+xml,<svg xmlns=%22http://www.w3.org/2000/svg%22/>' )}",
        "a{clip-path:url(#shape)}",
        "@font-face{font-family:Ours;src:url(data:font/woff2;base64,d09GMg//aa==)}",
    ],
)
def test_style_that_needs_nothing_is_taken_as_it_is(style: str, tmp_path: Path) -> None:
    path = tmp_path / "style.css"
    path.write_text(style, encoding="utf-8")
    assert own_style(path) == style


@pytest.mark.parametrize(
    "style",
    [
        "@import 'more.css';",
        "@IMPORT url(more.css);",
        "@\\69mport 'more.css';",
        "h1{background:url(picture.png)}",
        'h1{background:url("http://example.invalid/x.png")}',
        "h1{background:URL( //example.invalid/x.png )}",
        "h1{background:u\\72l(x.png)}",
        "h1{background:url(\\68 ttp://example.invalid/x.png)}",
        "h1{background:image-set('x.png' 1x)}",
        "h1{background:-webkit-image-set('x.png' 1x)}",
        "@font-face{src:src('x.woff2')}",
        "a{content:'/*'}@import 'x';b{content:'*/'}",
        "@namespace url(http://www.w3.org/1999/xhtml);",
        "</style><script>alert(1)</script>",
        "b{content:'</STYLE >'}",
        "a{b:'https://example.invalid'}",
    ],
)
def test_style_that_would_load_or_break_out_is_refused_with_its_line(
    style: str, tmp_path: Path
) -> None:
    path = tmp_path / "style.css"
    path.write_text(f"body{{margin:0}}\n{style}\n", encoding="utf-8")
    with pytest.raises(PlanFileError, match=r"style\.css, line 2: .* has no place in it"):
        own_style(path)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"a{}\n\xff", r"line 2: it is not UTF-8 text"),
        (b" " * 1_000_001, "larger than 1 MB"),
        (None, "cannot be read"),
    ],
)
def test_style_that_cannot_be_read_says_so(data: bytes | None, why: str, tmp_path: Path) -> None:
    path = tmp_path / "style.css"
    if data is not None:
        path.write_bytes(data)
    with pytest.raises(PlanFileError, match=why):
        own_style(path)
