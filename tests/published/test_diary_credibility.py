"""The estimator of what trips teach, against an actuarial examination question."""

import numpy as np
import pytest

from planner_kit.diary.credibility import shrunk_mean

SOURCE = (
    "Society of Actuaries, Exam C sample questions, question 12 (Buhlmann credibility premium of "
    "policyholder Y, answers 655, 670, 687, 703, 719), stored copy of scribd.com/document/"
    "694551634 read on 2026-11-25; means and variances by the question's own method on paper"
)


@pytest.mark.published(source=SOURCE)
def test_credibility_premium_is_the_one_of_the_five_answers_that_fits() -> None:
    x, y = np.array([730, 800, 650, 700]), np.array([655, 650, 625, 750])
    mean = (x.mean() + y.mean()) / 2
    process = (x.var(ddof=1) + y.var(ddof=1)) / 2
    hypothetical = np.var([x.mean(), y.mean()], ddof=1) - process / 4
    found = shrunk_mean(y, process**0.5, prior=mean, prior_sd=hypothetical**0.5)
    assert round(found.mean) == 687
    assert found.weight_frac == pytest.approx(4 / (4 + process / hypothetical))
