import math
from dataclasses import replace

import numpy as np
import pytest

from planner_kit.outfit import SwayModel, beam_loads, critical_speed_kmh
from planner_kit.outfit.statics import yaw_inertia_kg_m2
from planner_kit.outfit.sway import swings

# The beam of the example: support A at 0, support B at 4 m; 20 kN 1 m to the left of A, 40 kN at
# 1 m, 20 kN at 5 m, and 5 kN/m over the 3 m from 2 m on, which acts at 3.5 m. Support A is the
# ball, support B the axle; distances in front of the axle are 4 m less the place.
_PLACES_M = (-1, 1, 5, 3.5)
_LOADS = (20, 40, 20, 15)


@pytest.mark.published(
    source="Reactions of an overhanging beam, worked example, R_B = 43.125 kN, R_A = 51.875 kN, "
    "https://civilguruvu.com/tag/determine-the-reactions-at-the-supports-of-a-overhanging-beam, "
    "stored copy read 2026-11-25"
)
def test_reactions_of_a_beam_with_overhangs() -> None:
    found = beam_loads(_LOADS, [4 - place for place in _PLACES_M], ball_to_axle_m=4)
    assert found.axles_kg[0] == pytest.approx(43.125, abs=1e-9)
    assert found.nose_kg == pytest.approx(51.875, abs=1e-9)


# Another programme's matrices of the same model, with its parameters: M x' = S x for side speed,
# both yaw rates and both yaw angles of a truck with one trailer.
_M1, _J1, _A1, _B1, _H1 = 8994.4, 53314.6, 2.5359, 3.1977, 2.9691
_C1, _C2, _C3 = 399010.0, 1031136.0, 1057244.0
_M2, _J2, _A2, _L2 = 27256.8, 729225.0, 6.2941, 12.192
TRUCK = SwayModel(
    car_kg=_M1,
    car_inertia_kg_m2=_J1,
    front_m=_A1,
    rear_m=_B1,
    ball_m=_H1,
    caravan_kg=_M2,
    caravan_inertia_kg_m2=_J2,
    ball_to_centre_m=_A2,
    ball_to_axle_m=_L2,
    front_n_per_rad=_C1,
    rear_n_per_rad=_C2,
    caravan_n_per_rad=_C3,
)


def _their_eigenvalues(v: float) -> np.ndarray:
    c1, c2, c3 = _C1, _C2, _C3
    mass = np.array(
        [
            [_M1 + _M2, -_M2 * _H1, -_M2 * _A2, 0, 0],
            [-_M2 * _H1, _J1 + _M2 * _H1**2, _M2 * _H1 * _A2, 0, 0],
            [-_M2 * _A2, _M2 * _H1 * _A2, _J2 + _M2 * _A2**2, 0, 0],
            [0, 0, 0, 1, 0],
            [0, 0, 0, 0, 1],
        ]
    )
    side = c1 * _A1 - c2 * _B1 - c3 * _H1
    turn = c1 * _A1**2 + c2 * _B1**2 + c3 * _H1**2
    stiff = np.array(
        [
            [c1 + c2 + c3, side + (_M1 + _M2) * v**2, -c3 * _L2, c3 * v, -c3 * v],
            [side, turn - _M2 * _H1 * v**2, c3 * _H1 * _L2, -c3 * _H1 * v, c3 * _H1 * v],
            [
                -c3 * _L2,
                c3 * _L2 * _H1 - _M2 * _A2 * v**2,
                c3 * _L2**2,
                -c3 * _L2 * v,
                c3 * _L2 * v,
            ],
            [0, -v, 0, 0, 0],
            [0, 0, -v, 0, 0],
        ]
    )
    return np.linalg.eigvals(np.linalg.solve(mass, -stiff / v))


@pytest.mark.published(
    source="J. McDowell, 'Kinetic Trailer Control', 2018, parameters and matrices M and S of the "
    "linear model of a truck with one trailer, open source on GitHub, read 2026-11-25"
)
@pytest.mark.parametrize("speed_m_s", [4.5, 10, 20, 30])
def test_eigenvalues_of_a_published_truck_and_trailer(speed_m_s: float) -> None:
    theirs = _their_eigenvalues(speed_m_s)
    # Their fifth state is the heading of the whole train, which has the eigenvalue 0.
    theirs = np.sort_complex(theirs[np.abs(theirs) > 1e-9])
    ours = np.sort_complex(swings(TRUCK, speed_m_s * 3.6))
    assert ours == pytest.approx(theirs, rel=1e-6)


def _minaker(trailer_at_m: float) -> SwayModel:
    """The example's truck and trailer with the trailer's centre of mass at a place behind it."""
    return SwayModel(
        car_kg=16975 / 9.81,
        car_inertia_kg_m2=3508,
        front_m=1.289,
        rear_m=2.885 - 1.289,
        ball_m=2.7,
        caravan_kg=2000,
        caravan_inertia_kg_m2=3000,
        ball_to_centre_m=trailer_at_m - 2.7,
        ball_to_axle_m=3.0,
        front_n_per_rad=80_000,
        rear_n_per_rad=80_000,
        caravan_n_per_rad=80_000,
    )


# The example runs at 10 m/s; its comment says "location unstable at -6.5, -6.9" of the trailer,
# which stands at -5.4 m otherwise.
@pytest.mark.published(
    source="B. Minaker, EoM.jl, example input_ex_truck_trailer.jl (2017): parameters, speed and "
    "the trailer's places that are unstable, https://github.com/BPMinaker/EoM.jl, read 2026-11-25"
)
@pytest.mark.parametrize(("place_m", "unstable"), [(5.4, False), (6.5, True), (6.9, True)])
def test_trailer_with_its_weight_far_back_is_unstable(place_m: float, unstable: bool) -> None:
    fastest = swings(_minaker(place_m), 10 * 3.6)[0]
    assert bool(fastest.real > 0) is unstable
    if unstable:
        assert fastest.imag != 0


# Without a trailer the model is the car alone, whose critical speed handbooks give in closed form:
# V = sqrt(-57.3 L g / K), with the understeer gradient K = Wf / Cf - Wr / Cr below 0 [deg/g].
@pytest.mark.published(
    source="Critical speed for an oversteering vehicle, V = sqrt(-57.3 L g / K), https://formuladen"
    ".com/en/critical-speed-for-oversteer-vehicle-formula/Formula-37151, stored copy read "
    "2026-11-29"
)
@pytest.mark.parametrize("rear_n_per_rad", [40_000, 50_000, 60_000])
def test_critical_speed_of_the_car_alone(rear_n_per_rad: float) -> None:
    mass, front, rear, stiff = 1730, 1.289, 1.596, 80_000
    alone = SwayModel(
        car_kg=mass,
        car_inertia_kg_m2=3508,
        front_m=front,
        rear_m=rear,
        ball_m=2.7,
        caravan_kg=1e-6,
        caravan_inertia_kg_m2=1e-6,
        ball_to_centre_m=2.7,
        ball_to_axle_m=3.0,
        front_n_per_rad=stiff,
        rear_n_per_rad=rear_n_per_rad,
        caravan_n_per_rad=1e-3,
    )
    base, weight = front + rear, mass * 9.81
    gradient = math.degrees(weight * rear / base / stiff - weight * front / base / rear_n_per_rad)
    assert gradient < 0
    theirs = math.sqrt(-math.degrees(1) * base * 9.81 / gradient) * 3.6
    assert critical_speed_kmh(alone) == pytest.approx(theirs, rel=1e-4)


# "The dominant factors affecting stability were the trailer yaw inertia, nose mass (mass
# distribution), and trailer axle position": less inertia, more nose and a longer drawbar help.
@pytest.mark.published(
    source="Darling, Tilley and Gao, 'An experimental investigation of car-trailer high-speed "
    "stability', Proc. IMechE Part D 223 (2009), abstract, http://opus.bath.ac.uk/14234/; Anon., "
    "C132/83, abstract, https://trid.trb.org/View/204242: low yaw inertia, long drawbar, short "
    "overhang; read 2026-11-25"
)
@pytest.mark.parametrize(
    "better",
    [
        {"caravan_inertia_kg_m2": 2400},
        {"ball_to_centre_m": 2.8},
        {"ball_m": 2.4},
        {"caravan_n_per_rad": 100_000},
        {"ball_to_axle_m": 3.6, "ball_to_centre_m": 3.5},
    ],
    ids=["less yaw inertia", "more nose", "shorter overhang", "stiffer tyres", "longer drawbar"],
)
def test_what_makes_an_outfit_steadier_in_tests_does_so_in_the_model(better: dict) -> None:
    plain = replace(_minaker(5.6), ball_to_centre_m=2.9)
    plain_speed = critical_speed_kmh(plain)
    better_speed = critical_speed_kmh(replace(plain, **better), most_kmh=600)
    assert plain_speed is not None
    assert better_speed is None or better_speed > plain_speed


# A thin rod about its middle: m l² / 12; a plate adds the square of its width.
@pytest.mark.from_memory(settle="any handbook of mechanics, moments of inertia of a flat plate")
def test_inertia_of_an_even_plate() -> None:
    assert yaw_inertia_kg_m2(1200, 0, 6, 2, [], []) == pytest.approx(1200 * 40 / 12)
