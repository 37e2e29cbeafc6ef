import datetime as dt

import pandas as pd
import pytest

from planner_kit.rules import car_speed_limits, towing_speed_limits

DAY = dt.date(2027, 7, 24)


def limits_kmh(country: str, *, caravan: float, train: float | None) -> dict[str, float]:
    """Limits in the order built-up, single, dual, motorway."""
    roads = pd.DataFrame(
        {
            "country": country,
            "road_class": ["primary", "primary", "primary", "motorway"],
            "dual": [False, False, True, True],
            "built_up": pd.array([True, False, False, False], dtype="boolean"),
            "lit": pd.array([True, False, False, False], dtype="boolean"),
        }
    )
    answer = towing_speed_limits(roads, caravan_plate_kg=caravan, train_plate_kg=train, on=DAY)
    return dict(zip(("built_up", "single", "dual", "motorway"), answer["limit_kmh"], strict=True))


# GOV.UK prints both units: 30 (48), 50 (80), 60 (96), 60 (96), rounded down to whole km/h.
@pytest.mark.published(
    source="GOV.UK, Speed limits, table 'National speed limits', row 'Cars towing caravans or "
    "trailers', https://www.gov.uk/speed-limits, stored copy read 2026-11-25"
)
def test_car_with_caravan_in_great_britain() -> None:
    found = limits_kmh("GB", caravan=1500, train=3500)
    assert {kind: int(kmh) for kind, kmh in found.items()} == {
        "built_up": 48,
        "single": 80,
        "dual": 96,
        "motorway": 96,
    }


@pytest.mark.published(
    source="GOV.UK, Speed limits, table 'National speed limits', row 'Cars', "
    "https://www.gov.uk/speed-limits, stored copy read 2026-11-25"
)
def test_car_alone_in_great_britain() -> None:
    roads = pd.DataFrame(
        {
            "country": "GB",
            "road_class": ["primary", "primary", "primary", "motorway"],
            "dual": [False, False, True, True],
            "built_up": pd.array([pd.NA] * 4, dtype="boolean"),
            "lit": pd.array([True, False, False, False], dtype="boolean"),
        }
    )
    mph = car_speed_limits(roads, on=DAY)["limit_kmh"] / 1.609344
    assert list(mph.round(6)) == [30, 60, 70, 70]


@pytest.mark.published(
    source="Dáil Éireann, written answer 358, 4 April 2006, on S.I. 9 of 2005: 80 km/h for any "
    "vehicle towing a trailer or caravan on all roads, motorways too; read 2026-11-25"
)
def test_car_with_caravan_in_ireland() -> None:
    found = limits_kmh("IE", caravan=1500, train=3500)
    assert [found[kind] for kind in ("single", "dual", "motorway")] == [80, 80, 80]


@pytest.mark.published(
    source="Code de la route, article R413-8, as quoted 10 December 2023; read 2026-11-25"
)
def test_heavy_outfit_in_france() -> None:
    found = limits_kmh("FR", caravan=1800, train=3501)
    assert found == {"built_up": 50, "single": 80, "dual": 90, "motorway": 90}


@pytest.mark.published(
    source="StVO § 3 (3) 1 and 2 a bb, § 18 (5) 1 b (as of 20 July 2023); read 2026-11-25"
)
def test_car_with_caravan_in_germany() -> None:
    found = limits_kmh("DE", caravan=1500, train=3500)
    assert found == {"built_up": 50, "single": 80, "dual": 80, "motorway": 80}


@pytest.mark.published(source="RVV 1990, articles 20, 21 and 22 f; read 2026-11-25")
def test_car_with_caravan_in_the_netherlands() -> None:
    found = limits_kmh("NL", caravan=1500, train=3500)
    assert (found["built_up"], found["single"], found["motorway"]) == (50, 80, 90)


@pytest.mark.published(
    source="Reglamento General de Circulación, artículo 48, automóviles con remolque: 90 on "
    "motorways, 80 on other roads (after RD 1514/2018); read 2026-11-25"
)
def test_car_with_caravan_in_spain() -> None:
    found = limits_kmh("ES", caravan=1500, train=3500)
    assert (found["single"], found["motorway"]) == (80, 90)


@pytest.mark.published(
    source="Codice della strada, articolo 142 comma 3: 70 outside towns, 80 on motorways for a "
    "motor vehicle with a trailer (as given September 2021); read 2026-11-25"
)
def test_car_with_caravan_in_italy() -> None:
    found = limits_kmh("IT", caravan=1500, train=3500)
    assert (found["single"], found["motorway"]) == (70, 80)


@pytest.mark.published(source="VRV Art. 5 (1) a 2 and (2) c, 2022; read 2026-11-25")
def test_car_with_caravan_in_switzerland() -> None:
    found = limits_kmh("CH", caravan=1500, train=3500)
    assert (found["single"], found["motorway"]) == (80, 100)


@pytest.mark.published(
    source="Österreich.gv.at, Höchstgeschwindigkeiten, rows for a car of up to 3,500 kg with a "
    "light trailer, with both up to 3,500 kg, and with category BE; read 2026-11-25"
)
@pytest.mark.parametrize(
    ("caravan", "train", "expected"),
    [(700, 3000, (50, 100, 100)), (1300, 3400, (50, 80, 100)), (1500, 3900, (50, 70, 80))],
)
def test_car_with_caravan_in_austria(
    caravan: float, train: float, expected: tuple[float, float, float]
) -> None:
    found = limits_kmh("AT", caravan=caravan, train=train)
    assert (found["built_up"], found["single"], found["motorway"]) == expected


@pytest.mark.published(
    source="Statens vegvesen, Fartsgrenser med tilhenger: never above 80 km/h with a trailer; "
    "without brakes raised from 60 to 80 km/h, mojanorwegia.pl quoting the Ministry of Transport; "
    "stored copies read 2026-11-25"
)
@pytest.mark.parametrize("caravan", [500, 1500])
def test_car_with_caravan_in_norway(caravan: float) -> None:
    found = limits_kmh("NO", caravan=caravan, train=2000 + caravan)
    assert found["single"] == found["dual"] == 80
    assert max(found.values()) == 80


@pytest.mark.published(
    source="Código da Estrada, artigo 27.º, table, row 'Automóveis ligeiros de passageiros e "
    "mistos, com reboque'; stored copy read 2026-11-25"
)
def test_car_with_caravan_in_portugal() -> None:
    found = limits_kmh("PT", caravan=1500, train=3500)
    assert found == {"built_up": 50, "single": 70, "dual": 70, "motorway": 100}


@pytest.mark.published(
    source="Code de la route, articles R413-2 and R413-3: 130, 110, 80 and 50 km/h; R413-8 lowers "
    "them only above 3.5 t; read 2026-11-25"
)
def test_light_outfit_in_france_may_go_like_a_car() -> None:
    found = limits_kmh("FR", caravan=1300, train=3500)
    assert found == {"built_up": 50, "single": 80, "dual": 110, "motorway": 130}


@pytest.mark.published(
    source="Cavan County Council, Speed Limit Changes: rural local roads from 80 to 60 km/h on "
    "7 February 2025; read 2026-11-25"
)
@pytest.mark.parametrize(("on", "kmh"), [(dt.date(2025, 2, 6), 80), (dt.date(2025, 2, 7), 60)])
def test_irish_local_roads_before_and_after_the_change(on: dt.date, kmh: float) -> None:
    road = pd.DataFrame(
        {
            "country": ["IE"],
            "road_class": ["unclassified"],
            "dual": [False],
            "built_up": pd.array([False], dtype="boolean"),
            "lit": pd.array([pd.NA], dtype="boolean"),
        }
    )
    answer = towing_speed_limits(road, caravan_plate_kg=1500, train_plate_kg=3500, on=on)
    assert answer["limit_kmh"].iloc[0] == kmh


@pytest.mark.published(source="VRV Art. 4a (1), April 2024: 50, 80, 120 km/h; read 2026-11-25")
def test_car_alone_in_switzerland() -> None:
    roads = pd.DataFrame(
        {
            "country": "CH",
            "road_class": ["primary", "primary", "motorway"],
            "dual": False,
            "built_up": pd.array([True, False, False], dtype="boolean"),
            "lit": pd.array([pd.NA] * 3, dtype="boolean"),
        }
    )
    assert list(car_speed_limits(roads, on=DAY)["limit_kmh"]) == [50, 80, 120]


@pytest.mark.published(
    source="Driving in Liechtenstein, avd.de and autorevue.at: 50 in towns, 80 outside, 60 with a "
    "trailer of more than 1 t; stored copies read 2026-11-25"
)
@pytest.mark.parametrize(("caravan", "single"), [(1000, 80), (1001, 60), (1500, 60)])
def test_heavy_trailer_in_liechtenstein(caravan: float, single: float) -> None:
    found = limits_kmh("LI", caravan=caravan, train=3500)
    assert (found["built_up"], found["single"]) == (50, single)


@pytest.mark.published(
    source="Top speeds with a braked trailer in Europe, toerzeilers.nl: Belgium 120 (over 3,500 kg "
    "90) on motorways; general limits: rijbewijs-online.be; stored copies read 2026-11-25"
)
@pytest.mark.parametrize(("train", "motorway"), [(3500, 120), (3501, 90)])
def test_mass_splits_the_motorway_limit_in_belgium(train: float, motorway: float) -> None:
    found = limits_kmh("BE", caravan=1500, train=train)
    assert found["motorway"] == motorway
    assert found["built_up"] == 50
