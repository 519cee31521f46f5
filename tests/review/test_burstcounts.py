"""Bursts as counts, against figures written down by hand."""

import numpy as np
import pytest

from stillwing.errors import InputError
from stillwing.review.burstcounts import count_bursts

THREE = count_bursts([10, 30, 20], [3, 0, 2], ["May", "June", "May"])


def test_frames_keepers_and_outings_are_counted():
    assert (THREE.n_bursts, THREE.n_outings, THREE.n_frames, THREE.n_kept, THREE.n_bursts_kept) == (3, 2, 60, 5, 2)
    assert THREE.rate == pytest.approx(5 / 60)
    assert THREE.outing_shares == pytest.approx({"June": 0.5, "May": 0.5})


def test_concentration_is_one_where_one_has_all_and_falls_with_more():
    assert THREE.burst_concentration == pytest.approx((10**2 + 30**2 + 20**2) / 60**2)
    assert THREE.outing_concentration == pytest.approx(0.5)
    assert count_bursts([7], [1]).outing_concentration == pytest.approx(1.0)


def test_without_outings_each_burst_is_on_its_own():
    alone = count_bursts([10, 30], [3, 0])
    assert alone.n_outings == 2
    assert alone.outing_concentration == alone.burst_concentration


def test_bursts_with_more_than_so_many_are_counted_by_outing():
    # Outings stand in the order of their names: June, May.
    assert THREE.above(THREE.kept, 4) == pytest.approx(np.array([[0, 0, 0, 0], [2, 2, 1, 0]]))


def test_bursts_as_one_frame_each_are_kept_where_any_frame_was():
    alone = THREE.alone()
    assert (alone.n_frames, alone.n_kept, alone.outings) == (3, 2, ("June", "May"))


@pytest.mark.parametrize(
    ("frames", "kept", "outings", "said"),
    [
        ([], [], None, "0 counts"),
        ([3], [4], None, "4 of 3"),
        ([0], [0], None, "0 of 0"),
        ([3, 3], [1, -1], None, "-1 of 3"),
        ([3], [], None, "0 counts"),
        ([3], [1], ["a", "b"], "1 counts"),
    ],
)
def test_counts_that_cannot_be_are_refused(frames, kept, outings, said):
    with pytest.raises(InputError, match=said):
        count_bursts(frames, kept, outings)
