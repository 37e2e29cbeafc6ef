"""How much of the sky the ground leaves open over a pitch, for aerials that look at many points."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from planner_kit.pitch.skyline import Skyline


def open_sky_frac(skyline: Skyline, above_deg: float = 0.0) -> float:
    """Share of the sky above an elevation that the ground leaves free.

    Parameters
    ----------
    skyline : Skyline
    above_deg : float
        0 for the whole half sphere. [deg]

    Returns
    -------
    share_frac : float
        Solid angle of the free sky over that of all sky above the elevation; NaN where a part of
        the skyline is not known.
    """
    floor = np.sin(np.radians(above_deg))
    ground = np.sin(np.radians(np.maximum(skyline.elevation_deg, above_deg)))
    return float(np.mean((1 - ground) / (1 - floor)))


def check_open_sky(skyline: Skyline | None) -> Check:
    """Whether the ground leaves enough sky for internet over low-orbit satellites."""
    above = float(constant("signal_constants", "open_sky_from"))
    subject = "sky for low-orbit internet"
    source = "terrain of the region"
    share = float("nan") if skyline is None else open_sky_frac(skyline, above)
    if skyline is None or not np.isfinite(share):
        told = "The ground round the pitch is not known, so its sky is not known."
        return Check(subject, State.UNKNOWN, told, source=source)
    highest = int(np.argmax(skyline.elevation_deg))
    hill = (
        f"the highest ground stands {skyline.elevation_deg[highest]:.0f}° up at "
        f"{skyline.azimuth_deg[highest]:.0f}° true"
    )
    told = (
        f"The ground leaves {100 * share:.0f} of 100 parts of the sky above {above:.0f}° free "
        f"({hill}); trees and caravans near by are not known and hide more."
    )
    return Check(subject, State.LOOK, told, figure=round(100 * share, 1), unit="%", source=source)
