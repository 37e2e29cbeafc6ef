"""The cautions that a notebook carries, shown at its end."""

from __future__ import annotations

from IPython.display import HTML

from planner_kit.rules import cautions_at
from planner_kit.views import look


def show_cautions(place: str) -> HTML:
    """What no plan can see, for the notebook of that name; see ``caution_places.csv``."""
    return HTML(look.page(look.cautions(cautions_at(place))))
