"""Sources as they stand on paper."""

from __future__ import annotations

import csv

import pytest

from planner_kit.pack.sources import printed_source
from planner_kit.reference import shipped_folder


@pytest.mark.parametrize(
    ("source", "printed"),
    [
        ("The Code, rule 98, https://example.invalid/rules, copy at https://example.invalid/c",
         "The Code, rule 98"),
        ("The Code, rule 98, as quoted at http://example.invalid/98, stored copy",
         "The Code, rule 98"),
        ("The Code, table 2; reproduced at https://example.invalid/a and https://b.invalid/",
         "The Code, table 2"),
        ("A scale, https://example.invalid/scale/: force 6", "A scale: force 6"),
        ("Law 3, http://example.invalid/3; wheel chock: Law 4", "Law 3; wheel chock: Law 4"),
        ("ITU-R P.525-5, equation 4", "ITU-R P.525-5, equation 4"),
        ("https://example.invalid/only", "https://example.invalid/only"),
    ],
)  # fmt: skip
def test_addresses_of_pages_are_left_out(source: str, printed: str) -> None:
    assert printed_source(source) == printed


def test_no_source_of_the_tables_loses_its_title() -> None:
    for path in sorted((shipped_folder("data") / "reference").glob("*.csv")):
        with path.open(encoding="utf-8") as file:
            for row in csv.DictReader(file):
                source = row.get("source") or ""
                printed = printed_source(source)
                assert "http" not in printed or printed == source
                assert source == "" or printed.startswith(source[:4])
