"""What a site offers on its pitches and what it asks of its guests."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Hashable


@dataclass(frozen=True)
class SiteOffer:
    """The part of a site's row that the pitch stage reads; None where the row is silent.

    Attributes
    ----------
    name : str
    hookup_a, hookup_v : float or None
        Rating of the pitch's supply; 0 A means that there is none. [A], [V]
    hookup_price : float or None
        For a night; 0 when the pitch price holds it.
    metered : bool or None
        Whether electricity is paid by the kilowatt-hour.
    toilet_fluid : str or None
        ``any``, ``green only``, or the site's own words.
    water_point : str or None
        Where water is drawn.
    quiet_from, quiet_until : str or None
        Local time ``HH:MM``.
    source : str
        Where the row was read.
    abroad : bool
        Whether the site lies in another country than the household's plugs are made for.
    """

    name: str
    hookup_a: float | None
    hookup_v: float | None
    hookup_price: float | None
    metered: bool | None
    toilet_fluid: str | None
    water_point: str | None
    quiet_from: str | None
    quiet_until: str | None
    source: str
    abroad: bool = False


def site_offer(site: pd.Series, *, abroad: bool = False, kwh_in_tariff: bool = False) -> SiteOffer:
    """The offer in a row of the site list.

    A price for the kilowatt-hour, in the row or in the tariff (`kwh_in_tariff`), means a meter.
    """
    metered = _cell(site, "hookup_metered")
    if kwh_in_tariff or (metered is None and _number(site, "kwh_price") is not None):
        metered = True
    return SiteOffer(
        name=_text(site, "name") or str(site.name),
        hookup_a=_number(site, "hookup_a"),
        hookup_v=_number(site, "hookup_v"),
        hookup_price=_number(site, "hookup_price"),
        metered=None if metered is None else bool(metered),
        toilet_fluid=_text(site, "toilet_fluid"),
        water_point=_water_words(_text(site, "water_point")),
        quiet_from=_text(site, "quiet_from"),
        quiet_until=_text(site, "quiet_until"),
        source=_text(site, "source") or "site list",
        abroad=abroad,
    )


def _water_words(told: str | None) -> str | None:
    """Where water is drawn; a bare yes says only that there is a tap."""
    if told is not None and told.casefold() in ("yes", "true", "1"):
        return "a tap of the site (the list does not say where)"
    return told


def _cell(site: pd.Series, name: Hashable) -> object | None:
    value = site.get(name)
    return None if value is None or pd.isna(value) or value == "" else value


def _number(site: pd.Series, name: str) -> float | None:
    value = _cell(site, name)
    return None if value is None else float(str(value))


def _text(site: pd.Series, name: str) -> str | None:
    value = _cell(site, name)
    return None if value is None else str(value).strip() or None


def check_toilet_fluid(offer: SiteOffer) -> Check:
    """Which toilet fluid the site accepts; what it does not say is unknown."""
    subject = "toilet fluid"
    rule = (offer.toilet_fluid or "").casefold()
    if not rule:
        return Check(
            subject,
            State.UNKNOWN,
            "The site does not say which toilet fluid it takes; ask, or bring green fluid, and "
            "use its chemical point only.",
            source=offer.source,
        )
    if rule == "any":
        return Check(subject, State.FINE, "The site takes any toilet fluid.", source=offer.source)
    if rule == "green only":
        return Check(
            subject,
            State.LOOK,
            "Green toilet fluid only: bring that, and empty the cassette of any other before you "
            "come.",
            rule="green only",
            source=offer.source,
        )
    return Check(
        subject,
        State.LOOK,
        f"The site's own rule on toilet fluid: {offer.toilet_fluid}.",
        rule=str(offer.toilet_fluid),
        source=offer.source,
    )
