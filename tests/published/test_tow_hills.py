"""Starting on hills against type approval, and grip against a published table."""

from __future__ import annotations

import pytest

from planner_kit.outfit.report import Outfit
from planner_kit.reference import constant
from planner_kit.tow.climbing import approved_gradient_pct


@pytest.mark.published(
    source="Commission Regulation (EU) No 1230/2012, Annex I part A, point 5, as told in "
    "Mannheimer Morgen, Auto fahren mit Anhänger (2021-02), read on 2026-11-25: limits are set so "
    "that a car can start five times within five minutes on 12 %"
)
def test_type_approval_proves_twelve_per_cent_at_the_plated_mass_of_the_train():
    assert constant("hills", "start_gradient").value == 12
    assert (constant("hills", "starts").value, constant("hills", "starts_within").value) == (5, 5)
    unknown = dict.fromkeys(Outfit.__dataclass_fields__)
    plated = Outfit(
        **{**unknown, "train_kg": 3500.0, "train_plate_kg": 3500.0, "car_kg": 2000.0,
           "caravan_kg": 1500.0, "fuel": "diesel"}  # type: ignore[arg-type]
    )  # fmt: skip
    assert approved_gradient_pct(plated) == pytest.approx(12.0, abs=0.1)


@pytest.mark.published(
    source="Noon, Engineering Analysis of Vehicular Accidents (CRC Press, 1994), as tabled at "
    "support.precisionmining.com, Appendix 3, Coefficient of traction, read on 2026-11-25"
)
def test_grip_of_tyres():
    assert constant("hills", "grip_dry").value == 0.65
    assert constant("hills", "grip_wet").value == 0.50
    assert constant("hills", "grip_loose").value == 0.35
