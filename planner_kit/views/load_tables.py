"""What a loading's figures look like in tables, in a notebook and in a record."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.outfit import freed_sentences
from planner_kit.trip import display
from planner_kit.views import look

if TYPE_CHECKING:
    from planner_kit.outfit import LoadPlan
    from planner_kit.trip.household import Units


def not_needed_html(lines: pd.DataFrame | None, units: Units) -> str:
    """What earlier trips did not need of the loading list, and what leaving it frees.

    Parameters
    ----------
    lines : DataFrame or None
        See `planner_kit.outfit.not_needed_lines`.
    units : Units

    Returns
    -------
    markup : str
        Escaped; empty where nothing was said.
    """
    if lines is None or lines.empty:
        return ""
    shown = lines.assign(
        kg=[
            "not weighed" if display.is_missing(kg) else display.mass(kg, units)
            for kg in lines["total_kg"]
        ]
    )
    table = look.table(
        shown,
        {"item": "Thing", "place": "Where it is", "kg": "Weighs", "told": "What trips said",
         "do": "What to do"},
        caption="Not needed on earlier trips",
        figures=("kg",),
    )  # fmt: skip
    return table + look.paragraphs(freed_sentences(lines, units))


def load_plan_html(plan: LoadPlan) -> str:
    """A loading's advice and tables: the fewest moves, each thing's effect, loadings compared.

    Parameters
    ----------
    plan : LoadPlan

    Returns
    -------
    markup : str
        Escaped.
    """
    parts = []
    if plan.advice is not None:
        parts += [look.paragraphs([plan.advice.sentence])]
        if plan.advice.moves:
            parts.append(look.bullets(move.why for move in plan.advice.moves))
    else:
        parts.append(
            look.paragraphs(
                ["No moves can be worked out: mass or noseweight of the caravan is unknown."]
            )
        )
    if len(plan.packed):
        parts.append(
            look.table(
                plan.packed,
                {"person": "Who packs", "caravan_kg": "In the caravan, kg",
                 "car_kg": "In the car, kg", "not_weighed": "Not weighed"},
                caption="What each person packs; what is left is in the payload check",
            )
        )  # fmt: skip
    if len(plan.effects):
        parts.append(
            look.table(
                plan.effects.head(12),
                {"item": "Thing", "mass_kg": "kg", "x_m": "Place, m", "nose_kg": "On the ball",
                 "per_metre_kg": "1 m forward",
                 "at_tail_kg": "To the tail", "at_front_kg": "To the front"},
                caption="What each thing does to the noseweight in kg, the strongest first",
            )
        )  # fmt: skip
    if len(plan.what_if):
        parts.append(
            look.table(
                plan.what_if.assign(
                    **{
                        name: plan.what_if[name].map(_gain)
                        for name in ("nose_kg", "caravan_kg", "rear_kg")
                    }
                ),
                {"thing": "Thing", "goes": "What if it goes", "mass_kg": "kg",
                 "nose_kg": "Ball", "nose_after_kg": "Ball then",
                 "caravan_kg": "Caravan", "rear_kg": "Rear axle"},
                caption="What if one thing goes elsewhere: changes in kg, the car's rear axle too",
                figures=("nose_kg", "caravan_kg", "rear_kg"),
            )
        )  # fmt: skip
    if plan.sway is not None:
        parts.append(
            look.table(
                plan.sway.assign(
                    yaw_inertia_kg_m2=plan.sway["yaw_inertia_kg_m2"].round(),
                    damping=plan.sway["damping"].map("{:.3f}".format),
                    range=[
                        f"{low:.3f} to {high:.3f}"
                        for low, high in zip(plan.sway["low"], plan.sway["high"], strict=True)
                    ],
                ),
                {"loading": "The same things", "yaw_inertia_kg_m2": "Yaw inertia, kg m²",
                 "nose_kg": "Ball, kg", "damping": "Damping",
                 "range": "Soft to stiff",
                 "trend_pct": "Speed, %"},
                figures=("damping", "range"),
                caption="How the loading ranks by a linear model, no promise. Where damping "
                "(from soft to stiff tyres) is below 0, swings grow; speed is the critical speed "
                "against the plain loading",
            )
        )  # fmt: skip
    parts.append(look.paragraphs([plan.sway_sentence] if plan.sway_sentence else []))
    return f'<div class="pk-narrow">{"".join(parts)}</div>'


def _gain(change_kg: float) -> str:
    """A change with its sign; what is missing reads "not known"."""
    if pd.isna(change_kg):
        return ""
    return "0" if abs(change_kg) < 0.05 else f"{change_kg:+.1f}"
