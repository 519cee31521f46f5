from dataclasses import replace

import pytest

from stillwing.scene.outing import OUTING, render_outing
from stillwing.scene.truth import read_truth


def test_the_plan_is_large_and_mixed_enough():
    assert len(OUTING) >= 6
    assert sum(burst.n_frames for burst in OUTING) >= 200
    assert len({burst.scenario for burst in OUTING}) >= 6
    assert len({burst.card for burst in OUTING}) == 2


@pytest.mark.slow
def test_cards_hold_bursts_in_order_and_truth_lies_apart(tmp_path):
    plan = tuple(replace(burst, n_frames=2) for burst in OUTING if burst.scenario in ("empty", "take-off", "landing"))
    truths = render_outing(tmp_path, 3, plan=plan, megapixels=1, workers=1)
    assert [t["scenario"] for t in truths] == [burst.scenario for burst in plan]
    assert [p.name for p in sorted((tmp_path / "card-1").iterdir())] == [f"SW0000{n}.jpg" for n in (1, 2, 3, 4)]
    assert len(list((tmp_path / "card-2").iterdir())) == 2
    assert read_truth(tmp_path / "truth" / "SW00001.truth.json") == truths[0]
