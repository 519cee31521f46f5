"""Wrong codes are counted for a minute, and no more of them are kept than are needed."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis.strategies import lists, sampled_from, tuples

from stillwing.web.tries import FROM_ALL, FROM_ONE, WINDOW, Tries

START = datetime(2026, 7, 15, tzinfo=UTC)


@given(lists(tuples(sampled_from("abc"), sampled_from([0, 1, 7, 25])), max_size=150))
def test_the_same_is_refused_as_by_counting_all(steps: list[tuple[str, int]]) -> None:
    now = START
    tries = Tries(lambda: now)
    all_wrong: list[tuple[datetime, str]] = []
    for address, seconds in steps:
        now += timedelta(seconds=seconds)
        lately = [one for at, one in all_wrong if now - at < WINDOW]
        expected = len(lately) >= FROM_ALL or lately.count(address) >= FROM_ONE
        assert tries.are_spent(address) is expected
        # As the door does it: what is refused unread is not counted.
        if not expected:
            tries.note(address)
            all_wrong.append((now, address))
