"""A value nobody can read is told with an interval that holds it nine times in ten, and as near as the other readings let it."""

import numpy as np
import shouldread as sr

from tests.benchmarks.diagnosis.measures import unreadable
from tests.benchmarks.diagnosis.stages import TWO_FEEDS
from tests.benchmarks.diagnosis.worlds import ASSUMED

BOARDS = 160


def test_the_interval_holds_nine_in_ten_of_boards_as_the_kit_assumes_them() -> None:
    """Boards solved by ngspice. So many of them leave the share open by 2.4 hundredths."""
    found = unreadable(TWO_FEEDS, BOARDS, TWO_FEEDS.wide, np.random.default_rng(260418), world=ASSUMED)
    assert found["boards"] > 0.9 * BOARDS and 0.85 <= found["held"] <= 0.95


def test_an_interval_is_as_wide_as_ohms_law_leaves_it() -> None:
    """A divider by hand: ln R2 = ln R1 + ln(V / (12 - V)), of which R1 is unsure by 5 % at two deviations, V by a count.

    What is left for slips and faults (2 in 100) makes the interval a little wider.
    """
    known = sr.load_circuit("* divider\nV1 A 0 12\nR1 A B 10k\nR2 B 0 10k\n")
    told = sr.diagnose(known.with_values({"R2": "1k..100k"}), "A 12.00; B 7.38", healthy=0.9).values["R2"]
    by_count = 0.01 * (1 / 7.38 + 1 / 4.62)
    by_hand = np.hypot(np.log(1.05 / 0.95) / 4, by_count)
    assert abs(np.log(told.median / (10e3 * 7.38 / 4.62))) < 0.005
    assert 1.0 < np.log(told.high / told.low) / (2 * 1.645 * by_hand) < 1.1
