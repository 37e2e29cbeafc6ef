import datetime as dt

import pytest

from planner_kit.outfit import check_outfit, outfit_of
from planner_kit.states import State
from planner_kit.trip.household import Household

DAY = dt.date(2027, 7, 24)


def household(laden_kg: float, nose_kg: float) -> Household:
    return Household.model_validate(
        {
            "schema": 1,
            "name": "check",
            "home": {"lat": 50, "lon": -3},
            "people": [{"name": "Ada", "drives": True, "licence": "BE"}],
            "car": {
                "name": "car",
                "fuel": "diesel",
                "kerb_kg": 1800,
                "towball_limit_kg": 200,
                "kerb_includes_driver": False,
            },
            "caravan": {
                "name": "van",
                "mtplm_kg": 2000,
                "mass_in_running_order_kg": 1000,
                "noseweight_limit_kg": 200,
            },
            "loading": {
                "caravan_load_kg": laden_kg - 1000,
                "noseweight_measured_kg": nose_kg,
            },
        }
    )


# 5 % to 7 % of the actual laden weight: of 1,400 kg that is 70 to 98 kg.
@pytest.mark.published(
    source="NCC, Caravan Towing Guide, page 11: noseweight of 5 % to 7 % of the actual laden "
    "weight; stored copy read 2026-11-25"
)
@pytest.mark.parametrize(
    ("nose_kg", "state"),
    [(69, State.LOOK), (71, State.FINE), (97, State.FINE), (99, State.LOOK)],
)
def test_usual_share_of_the_laden_caravan(nose_kg: float, state: State) -> None:
    house = household(1400, nose_kg)
    report = check_outfit(house, outfit_of(house, on=DAY), countries=["GB"], on=DAY)
    (check,) = [c for c in report.checks if c.subject.startswith("noseweight as a share")]
    assert check.state is state


@pytest.mark.common_practice(
    source="tow at most 85 % of the kerb weight, as told at "
    "http://www.towbarexpress.co.uk/towing-a-trailer, stored copy read 2026-11-25"
)
@pytest.mark.parametrize(
    ("mtplm", "state"), [(1530, State.FINE), (1531, State.LOOK), (1801, State.NOT_FINE)]
)
def test_plated_caravan_against_the_kerb_mass(mtplm: float, state: State) -> None:
    house = household(1400, 80)
    caravan = house.caravan.model_copy(update={"mtplm_kg": float(mtplm)})
    house = house.model_copy(update={"caravan": caravan})
    report = check_outfit(house, outfit_of(house, on=DAY), countries=["GB"], on=DAY)
    (check,) = [c for c in report.checks if "kerb mass" in c.subject]
    assert check.state is state
