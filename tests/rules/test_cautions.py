import json
import re

import pytest

from planner_kit.reference import read_table, shipped_folder
from planner_kit.rules import caution_subjects, cautions_at, cautions_for

SUBJECTS = (
    *("weights", "noseweight", "brakes", "tyres", "gas", "carbon_monoxide"),
    *("mains", "low_bridges", "fatigue", "law"),
)


@pytest.mark.parametrize("subject", SUBJECTS)
def test_every_subject_has_one_or_two_short_sentences(subject: str) -> None:
    (text,) = cautions_for(subject)
    sentences = [part for part in re.split(r"[.!]\s+", text.rstrip(".")) if part]
    assert 1 <= len(sentences) <= 3
    assert max(len(sentence.split()) for sentence in sentences) <= 30


def test_cautions_come_once_and_in_the_order_asked() -> None:
    assert cautions_for("gas", "law", "gas") == (*cautions_for("gas"), *cautions_for("law"))


def test_unknown_subject_is_an_error_that_names_the_nearest() -> None:
    with pytest.raises(KeyError, match="tyres"):
        cautions_for("tires")


def test_every_notebook_and_template_says_what_it_cautions_about() -> None:
    top = shipped_folder("data").parent
    held = {
        path.stem for folder in ("notebooks", "templates") for path in top.glob(f"{folder}/*.ipynb")
    }
    assert set(caution_subjects()) == held | {"pack"}


def test_every_subject_is_carried_somewhere() -> None:
    carried = {subject for subjects in caution_subjects().values() for subject in subjects}
    assert carried == set(read_table("cautions")["subject"])


def test_place_that_is_not_held_is_an_error_that_names_the_nearest() -> None:
    with pytest.raises(KeyError, match="load_caravan"):
        cautions_at("load_caravn")


# Words that touch something which can hurt, and what a notebook with them must caution about.
TOUCHED = {
    r"\bmasses\b|\bplates?\b|noseweight": "weights",
    r"\bgas\b|cylinder": "gas",
    r"hook-up|mains|breaker": "mains",
    r"\btow\b|route card": "fatigue",
    r"suit the outfit|low bridge|height": "low_bridges",
}


@pytest.mark.parametrize("place", ["load_caravan", "tow", "pitch_utilities", "explore_region"])
def test_notebook_that_speaks_of_danger_carries_its_caution(place: str) -> None:
    text = (shipped_folder("data").parent / "notebooks" / f"{place}.ipynb").read_text("utf-8")
    prose = " ".join(
        "".join(cell["source"])
        for cell in json.loads(text)["cells"]
        if cell["cell_type"] == "markdown"
    )
    for words, subject in TOUCHED.items():
        if re.search(words, prose):
            assert subject in caution_subjects()[place], f"{place} speaks of {words}"
