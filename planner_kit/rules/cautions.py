"""The usual cautions, in plain words; each gives way to plates, handbooks, law and fitters."""

from __future__ import annotations

from functools import lru_cache

from planner_kit.errors import nearest_name
from planner_kit.reference import read_table


def cautions_for(*subjects: str) -> tuple[str, ...]:
    """The cautions on some subjects, in the order asked for, none of them twice.

    Parameters
    ----------
    *subjects : str
        Any of ``weights``, ``noseweight``, ``brakes``, ``tyres``, ``gas``, ``carbon_monoxide``,
        ``mains``, ``low_bridges``, ``fatigue``, ``law``.

    Returns
    -------
    cautions : tuple of str
        One or two sentences for each subject.

    Raises
    ------
    KeyError
        If there is no caution on a subject: a caution is never left out without a word.
    """
    texts = _texts()
    for subject in subjects:
        if subject not in texts:
            advice = nearest_name(subject, texts)
            raise KeyError(f"cautions.csv has nothing on '{subject}'; {advice}")
    return tuple(dict.fromkeys(texts[subject] for subject in subjects))


@lru_cache(maxsize=1)
def _texts() -> dict[str, str]:
    table = read_table("cautions")
    return dict(zip(table["subject"], table["text"], strict=True))


def caution_subjects() -> dict[str, tuple[str, ...]]:
    """What each notebook, template and the printed folder (``pack``) must caution about.

    Returns
    -------
    subjects : dict of str to tuple of str
        By the name of the notebook without its ending; an empty tuple where it touches nothing
        that can hurt.
    """
    table = read_table("caution_places")
    return {
        place: tuple(subjects.split())
        for place, subjects in zip(table["place"], table["subjects"], strict=True)
    }


def cautions_at(place: str) -> tuple[str, ...]:
    """The cautions that a notebook, a template or the printed folder carries.

    Raises
    ------
    KeyError
        If the place is in no row of ``data/reference/caution_places.csv``.
    """
    subjects = caution_subjects()
    if place not in subjects:
        raise KeyError(f"caution_places.csv has no row '{place}'; {nearest_name(place, subjects)}")
    return cautions_for(*subjects[place])
