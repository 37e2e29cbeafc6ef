"""The gap of the days' search on the open orienteering instances; run this file with python.

Seconds for each instance may be given; 10 if left out. Set PYTHONPATH to the project's folder.
"""

import statistics
import sys

from planner_kit.outings.tour_search import plan_tours
from planner_kit.outings.tours import faults_of
from tests.conftest import open_data_folder
from tests.published.test_outings_tours import benchmark_instance, best_known


def main() -> None:
    """Print the score and the gap of each instance, the mean and the worst."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    gaps = []
    for name, best in sorted(best_known().items()):
        problem = benchmark_instance(open_data_folder() / "orienteering" / f"{name}.txt")
        plan = plan_tours(problem, time_limit_s=seconds)
        faults = faults_of(problem, plan.tours)
        gaps.append(100 * (best - plan.prize) / best)
        print(
            f"{name:8} best known {best:5} found {plan.prize:6.0f} gap {gaps[-1]:5.2f} % {faults}"
        )
    print(f"mean gap {statistics.mean(gaps):.2f} %, worst {max(gaps):.2f} %")


if __name__ == "__main__":
    main()
