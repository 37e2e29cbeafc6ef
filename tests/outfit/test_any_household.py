"""Whatever the schema lets a household say, the checks answer and never break."""

import datetime as dt
import math
import types
import typing

import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.outfit import check_outfit, outfit_of
from planner_kit.states import State
from planner_kit.trip.household import Car, Caravan, Loading, Tyre

DAY = dt.date(2027, 7, 24)
WORDS = {"name", "items", "noseweight_measured_with", "fuel"}
PLACES = ["caravan front", "caravan rear", "car boot", "car roof", "caravan water tank"]


def _numbers(part: type) -> dict[str, st.SearchStrategy]:
    """A strategy for each key of a part that is a number, a choice or a yes, within its limits."""
    found = {}
    for name, field in part.model_fields.items():
        if name in WORDS or name == "tyre":
            continue
        kinds = [kind for kind in _kinds(field.annotation) if kind is not type(None)]
        bounds = {}
        for meta in (*field.metadata, *_constraints(field.annotation)):
            for limit in ("ge", "gt", "le", "lt"):
                if getattr(meta, limit, None) is not None:
                    bounds[limit] = getattr(meta, limit)
        if float in kinds:
            low = bounds["ge"] if "ge" in bounds else bounds.get("gt", 0) + 1e-3
            high = bounds["le"] if "le" in bounds else bounds["lt"] - 1e-3
            found[name] = st.none() | st.sampled_from([low, high]) | st.floats(low, high)
        elif int in kinds:
            found[name] = st.none() | st.integers(bounds["ge"], bounds["le"])
        elif bool in kinds:
            found[name] = st.none() | st.booleans()
        elif literals := [word for kind in kinds for word in typing.get_args(kind)]:
            found[name] = st.sampled_from(literals)
    return found


def _kinds(annotation) -> list:
    origin = typing.get_origin(annotation)
    if origin in (typing.Union, types.UnionType):
        return [kind for each in typing.get_args(annotation) for kind in _kinds(each)]
    if origin is typing.Annotated:
        return _kinds(typing.get_args(annotation)[0])
    return [annotation]


def _constraints(annotation) -> list:
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        return [each for kind in typing.get_args(annotation) for each in _constraints(kind)]
    if typing.get_origin(annotation) is typing.Annotated:
        return [
            m for field in typing.get_args(annotation)[1:] for m in getattr(field, "metadata", [])
        ]
    return []


def _part(part: type) -> st.SearchStrategy:
    keys = _numbers(part)
    return st.fixed_dictionaries({}, optional=keys)


things = st.lists(
    st.tuples(
        st.sampled_from(["awning", "gas bottle", "bicycles", "water tank", "leisure battery"]),
        st.none() | st.floats(0, 2000),
        st.none() | st.integers(0, 1000),
        st.sampled_from(PLACES),
        st.none() | st.floats(-12, 12),
    ),
    max_size=6,
)


@settings(max_examples=40, deadline=None)
@given(
    car=_part(Car),
    caravan=_part(Caravan),
    loading=_part(Loading),
    tyre=_part(Tyre),
    rows=st.none() | things,
)
def test_checks_answer_for_every_household_of_the_schema(
    make_household, make_items, car, caravan, loading, tyre, rows
) -> None:
    house = make_household(
        car=car, caravan={**caravan, "tyre": {k: v for k, v in tyre.items() if v is not None}},
        loading=loading,
    )  # fmt: skip
    items = None if rows is None else make_items(*rows) if rows else make_items()
    report = check_outfit(
        house, outfit_of(house, items=items, on=DAY), items=items, countries=["GB"], on=DAY
    )
    for check in report.checks:
        assert check.sentence
        assert "nan" not in check.sentence.lower().split()
        for figure in (check.figure, check.limit, check.margin):
            assert figure is None or math.isfinite(figure), check
        if check.figure is None and check.limit is not None:
            assert check.state is not State.FINE, check
    assert report.floor is None or report.floor.startswith("<svg")
    assert isinstance(report.loading, (pd.DataFrame, type(None)))
