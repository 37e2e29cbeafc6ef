import pytest

from planner_kit.rules import tyre_speed_kmh


@pytest.mark.published(
    source="The history of tyre speed symbols, table of symbols from A1 to V, "
    "https://tireclopedia.com/2024/07/02/history-of-tire-speed-symbols-rationale-and-evolution-of-"
    "modern-tire-speed-symbol-rating, stored copy read 2026-11-25"
)
@pytest.mark.parametrize(
    ("symbol", "speed_kmh"),
    [
        ("A1", 5),
        ("A8", 40),
        ("B", 50),
        ("F", 80),
        ("G", 90),
        ("J", 100),
        ("K", 110),
        ("L", 120),
        ("M", 130),
        ("N", 140),
        ("P", 150),
        ("Q", 160),
        ("R", 170),
        ("S", 180),
        ("T", 190),
        ("U", 200),
        ("H", 210),
        ("V", 240),
    ],
)
def test_speed_of_a_symbol(symbol: str, speed_kmh: float) -> None:
    assert tyre_speed_kmh(symbol) == speed_kmh


def test_symbol_that_is_not_listed_is_none() -> None:
    assert tyre_speed_kmh("X") is None


# What the public register of the European Commission writes beside the symbol of a tyre.
@pytest.mark.published(
    source="EPREL, European product registry, tyre sheets under Regulation (EU) 2020/740: 383824 "
    "(L 120), 453961 (N 140), 525918 (R 170), 530198 (M 130), 511829 (K 110), "
    "610243 (T 190), 610811 (S 180); copies read 2026-11-25"
)
@pytest.mark.parametrize(
    ("symbol", "speed_kmh"),
    [
        ("K", 110),
        ("L", 120),
        ("M", 130),
        ("N", 140),
        ("R", 170),
        ("S", 180),
        ("T", 190),
    ],
)
def test_speed_of_a_symbol_in_the_public_register(symbol: str, speed_kmh: float) -> None:
    assert tyre_speed_kmh(symbol) == speed_kmh
