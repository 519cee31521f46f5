"""The figures of the phone's own script, beside those of the desk: shares, chances, and when to leave."""

from collections.abc import Iterator
from math import inf
from random import Random
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser

from stillwing.fieldbook.book import open_book
from stillwing.review.intervals import End
from stillwing.review.leaving import leave_after_s
from stillwing.review.returns import learn_returns
from stillwing.review.survival import shares_by_end
from stillwing.review.words import length_words, range_words, returns_words, steady_chance

from .conftest import Served, Watched, serving
from .drawn import Drawn

pytestmark = pytest.mark.browser

ENDS = {End.HAPPENED: "happened", End.ELSEWHERE: "elsewhere", End.CUT_OFF: "cut off"}
GONE_S = (0.0, 0.5, 7.25, 40.0, 600.0, 20_000.0)
SAME = {"rel": 1e-9, "abs": 1e-300}

ON_THE_PHONE = """async ({ cases, goneS }) => {
  const { learnReturns, leaveAfter, returnAfter, sharesBack, steadyChance } = await import("/log/static/returns.js");
  const { returnsWords } = await import("/log/static/waitingwords.js");
  return cases.map(({ absences, best }) => {
    const returns = learnReturns(absences);
    const words = returnsWords(absences);
    const steady = steadyChance(absences.length, absences.reduce((whole, one) => whole + one.length_s, 0));
    if (returns === null) return { words, steady };
    const left = [leaveAfter(returns, null), ...best.map(([per_s, walk_s]) => leaveAfter(returns, { per_s, walk_s }))];
    return {
      words, steady, shares: sharesBack(absences), left: left.map((seconds) => (seconds === Infinity ? -1 : seconds)),
      after: goneS.map((seconds) => returnAfter(returns, seconds)),
    };
  });
}"""


@pytest.fixture(scope="module")
def page(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Return a page from which the phone's scripts can be asked."""
    place = tmp_path_factory.mktemp("returns")
    path = place / "book.sqlite"
    open_book(path).close()
    with serving(Drawn(place, path, 1, ()), place / "cache") as pages:
        served: Served = pages
        watch = Watched(browser, served.url)
        watch.page.goto(f"{served.url}/log")
        yield watch.page
        watch.context.close()
        assert watch.complaints == []


def absences(rng: Random) -> tuple[list[float], list[End]]:
    """Return lengths to the millisecond, some of them equal or nothing, from one to a few hundred."""
    n = rng.choice((1, 2, 3, 6, 20, 300))
    scale_s = rng.choice((0.05, 5.0, 60.0, 3000.0))
    weights = rng.choice(((1, 0, 0), (6, 1, 3), (1, 1, 8), (0, 1, 1), (1, 5, 0)))
    lengths = [round(rng.expovariate(1 / scale_s), rng.choice((0, 1, 3))) for _ in range(n)]
    return lengths, rng.choices([*ENDS], weights, k=n)


def test_shares_chances_and_leaving_are_the_desks_to_nine_digits(page: Any) -> None:
    rng = Random(20260601)
    cases = [
        (*absences(rng), [(rng.expovariate(20.0), 60.0 * rng.randint(0, 1)) for _ in range(2)]) for _ in range(250)
    ]
    told = page.evaluate(
        ON_THE_PHONE,
        {
            "goneS": GONE_S,
            "cases": [
                {
                    "absences": [
                        {"length_s": length, "end": ENDS[end]} for length, end in zip(lengths, ends, strict=True)
                    ],
                    "best": best,
                }
                for lengths, ends, best in cases
            ],
        },
    )
    n_with_returns = n_leaving = 0
    for (lengths, ends, best), found in zip(cases, told, strict=True):
        assert found["words"] == returns_words(lengths, ends)
        assert found["steady"] == pytest.approx(steady_chance(len(lengths), sum(lengths)), **SAME)
        if End.HAPPENED not in ends:
            assert "after" not in found
            continue
        n_with_returns += 1
        back = shares_by_end(lengths, [end.code for end in ends])[End.HAPPENED.code]
        assert [step["at"] for step in found["shares"]] == back.times_s.tolist()
        np.testing.assert_allclose([step["share"] for step in found["shares"]], back.share, rtol=1e-9)
        returns = learn_returns(lengths, ends)
        for gone_s, after in zip(GONE_S, found["after"], strict=True):
            assert after["chance"] == pytest.approx(float(returns.chance_back(gone_s)), **SAME)
            assert after["hazard"] == pytest.approx(float(returns.hazard_per_s(gone_s)), **SAME)
        left = [leave_after_s(returns), *(leave_after_s(returns, per_s, walk_s) for per_s, walk_s in best)]
        assert [inf if seconds == -1 else seconds for seconds in found["left"]] == pytest.approx(left, rel=1e-9)
        n_leaving += sum(0 < seconds < inf for seconds in left)
    assert n_with_returns > 150
    assert n_leaving > 200


def test_lengths_are_said_as_the_desk_says_them(page: Any) -> None:
    edges = (0.0, 0.499, 0.5, 1.5, 2.5, 89.499, 89.5, 89.999, 90.0, 149.9, 150.0, 5369.9, 5370.0, 5399.9, 5400.0, 9e4)
    pairs = [(one, other) for one in edges for other in edges]
    told = page.evaluate(
        """async (pairs) => { const { lengthWords, rangeWords } = await import("/log/static/waitingwords.js");
        return pairs.map(([one, other]) => [lengthWords(one), rangeWords(one, other)]); }""",
        pairs,
    )
    assert told == [[length_words(one), range_words(one, other)] for one, other in pairs]
