"""The folder as one page for a phone: nothing runs, nothing is fetched, nothing is left out."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pymupdf
import pytest

from planner_kit.errors import PlanFileError
from planner_kit.pack import write_html_twin, write_pack
from planner_kit.pack.blocks import bullets, codes, sheet, table, text
from planner_kit.pack.html_twin import twin_page
from planner_kit.plan import TripPlan
from planner_kit.trip.page_look import PAGE_LOOK, PAGE_STYLE

EVIL = '<script>alert(1)</script><img src=x onerror="alert(2)">"\'&{{x}}$x$'


class _Reader(HTMLParser):
    """Collects tags, addresses and words."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.addresses: list[str] = []
        self.events: list[str] = []
        self.words = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        for name, value in attrs:
            if name in ("src", "href"):
                self.addresses.append(value or "")
            if name.startswith("on"):
                self.events.append(name)

    def handle_data(self, data: str) -> None:
        self.words += data


def test_page_needs_no_other_file_and_runs_nothing(plan: TripPlan, tmp_path: Path) -> None:
    page = write_html_twin(plan, tmp_path).read_text(encoding="utf-8")
    read = _Reader(page)
    assert "script" not in read.tags
    assert read.events == []
    assert all(address.startswith(("data:", "#", "geo:")) for address in read.addresses)
    assert "default-src 'none'" in page


def test_a_household_s_own_style_comes_behind_the_kit_s(plan: TripPlan, tmp_path: Path) -> None:
    style = tmp_path / "style.css"
    style.write_text("body{background:#fffbe6}", encoding="utf-8")
    paths = {**plan.files.paths, f"{PAGE_LOOK} {PAGE_STYLE}": style}
    own = replace(plan, files=replace(plan.files, paths=paths))
    kits = write_html_twin(plan, tmp_path).read_text(encoding="utf-8")
    page = write_html_twin(own, tmp_path).read_text(encoding="utf-8")
    assert page == kits.replace("</style>", "body{background:#fffbe6}</style>")
    style.write_text("</style><script>alert(1)</script>", encoding="utf-8")
    with pytest.raises(PlanFileError, match=r"style\.css, line 1"):
        write_html_twin(own, tmp_path)
    assert (tmp_path / "pack.html").read_text(encoding="utf-8") == page


def test_page_says_what_the_paper_says(plan: TripPlan, tmp_path: Path) -> None:
    words = _Reader(write_html_twin(plan, tmp_path).read_text(encoding="utf-8")).words
    for said in (plan.files.inputs.trip.name, "Towing out", "The outfit", "Money", "Take care"):
        assert said in words


def test_confirmations_are_named_for_they_are_not_in_the_page(
    plan: TripPlan, tmp_path: Path
) -> None:
    (tmp_path / "confirmation.pdf").write_bytes(b"%PDF-1.7 cut sho")
    words = _Reader(write_html_twin(plan, tmp_path).read_text(encoding="utf-8")).words
    assert "This page does not hold the confirmations themselves." in words
    assert "confirmation.pdf" in words
    assert "it is damaged or not a PDF" in words


def test_confirmations_alone_say_so_where_there_are_none(
    bare_plan: TripPlan, tmp_path: Path
) -> None:
    page = write_html_twin(bare_plan, tmp_path, pages=["confirmations"])
    said = "The trip file names no confirmation"
    assert said in _Reader(page.read_text(encoding="utf-8")).words
    with pymupdf.open(write_pack(bare_plan, tmp_path, pages=["confirmations"])) as folder:
        assert said in folder[0].get_text()


def test_cells_of_a_wide_table_carry_their_headings(plan: TripPlan, tmp_path: Path) -> None:
    page = write_html_twin(plan, tmp_path).read_text(encoding="utf-8")
    wide = re.findall(r'<div class="wide many".*?</table>', page)
    assert wide
    for part in wide:
        rows = re.findall(r"<tr[^>]*>(.*?)</tr>", part)
        heads = re.findall(r"<th[^>]*>(.*?)</th>", rows[0])
        assert all(re.findall(r'data-head="(.*?)"', row) == heads for row in rows[1:])


def test_same_plan_gives_the_same_page(plan: TripPlan, tmp_path: Path) -> None:
    first = write_html_twin(plan, tmp_path / "a").read_bytes()
    assert write_html_twin(plan, tmp_path / "b").read_bytes() == first


def test_hostile_words_stay_words() -> None:
    sheets = [
        sheet(
            EVIL,
            EVIL,
            [
                text(EVIL),
                bullets([EVIL]),
                table([(EVIL, "1fr")], [(EVIL,)]),
                table([(EVIL, "1fr")] * 5, [(EVIL,) * 5]),
                codes([(EVIL, 49.5, -14.5)]),
            ],
            intro=EVIL,
        )
    ]
    read = _Reader(twin_page(sheets, EVIL, EVIL, EVIL, 'en"><script>'))
    assert "script" not in read.tags
    assert read.events == []
    assert read.words.count("<script>alert(1)</script>") >= 6


def test_bare_trip_still_makes_a_page(make_plan: Callable[..., Any], tmp_path: Path) -> None:
    assert write_html_twin(make_plan(), tmp_path).stat().st_size > 10_000
