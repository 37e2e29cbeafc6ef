import re

import pytest

from planner_kit.rules import cautions_for

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
