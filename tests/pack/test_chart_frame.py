from __future__ import annotations

import numpy as np
import pytest
import shapely

from planner_kit.pack.chart_frame import Chart, bands, chart

ALONG = np.arange(6.0)


@pytest.fixture(params=[10.0, 2.0], ids=["inside the axes", "beyond them"])
def drawn(request: pytest.FixtureRequest) -> Chart:
    return chart((100.0, 50.0), (0.1, 0.1, 0.8, 0.8), (0.0, -1.0, 5.0, request.param))


def test_every_hill_that_stands_on_the_line_is_filled(drawn: Chart) -> None:
    hills = np.array([0.0, 3.0, 0.0, 0.0, 3.0, 0.0])
    found = bands(drawn, ALONG, 0.0, hills)
    area = sum(float(shapely.area(part)) for part in found)
    top = drawn.limits[3]
    # Two triangles of 2 by 3, the second cut to the same height as the first.
    each = 3.0 if top > 3 else 3.0 * (1 - ((3 - top) / 3) ** 2)
    assert area == pytest.approx(2 * each)
    assert len(found) == 2


def test_two_lines_that_cross_leave_an_area_on_each_side(drawn: Chart) -> None:
    found = bands(drawn, ALONG, 0.0, np.linspace(-1.0, 1.0, 6))
    assert len(found) == 2
    assert sum(float(shapely.area(part)) for part in found) == pytest.approx(2.5)


def test_heights_that_are_not_known_part_the_area(drawn: Chart) -> None:
    found = bands(drawn, ALONG, 0.0, np.array([1.0, 1.0, np.nan, 1.0, 1.0, 1.0]))
    assert [float(shapely.area(part)) for part in found] == pytest.approx([1.0, 2.0])
