"""The benchmarks of stored flights and of boxes: what their figures count."""

from types import SimpleNamespace

import numpy as np
import pytest

from flight_boxes import SIZES, Strayed, pooled
from flight_stored import Told, _places, figures_of
from stillwing.frames.measured import Box


def told(**changed):
    given = {
        "burst": "a",
        "scenario": "pass",
        "n_frames": 10,
        "true_speed_m_s": 1.0,
        "speed_m_s": (0.9, 1.1, 1.3),
        "speed_told": True,
        "true_off_plane_deg": 10.0,
        "off_plane_deg": (5.0, 9.0, 14.0),
        "offset_holds": 0.8,
        "true_crossing": 4.0,
        "crossing": (3.9, 4.3, 4.6),
        "missing": (),
        "seconds": 0.5,
    }
    return Told(**{**given, **changed})


def test_errors_are_those_of_told_speeds_and_coverage_is_that_of_all():
    figures = figures_of([told(), told(speed_told=False, true_speed_m_s=3.0, crossing=None)])
    assert figures["speeds_told"] == 1
    assert figures["speed_error_told_worst"] == pytest.approx(0.1)
    assert figures["speed_holds"] == 0.5
    assert figures["flight_s_most"] == 0.5
    assert figures["crossing_error_frames_worst"] == pytest.approx(0.3)


def test_angles_of_long_pans_do_not_count():
    figures = figures_of([told(true_off_plane_deg=40.0), told(true_off_plane_deg=float("nan"))])
    assert figures["off_plane_bursts"] == 1
    assert figures["off_plane_holds"] == 0.0


def test_an_animal_is_the_same_in_every_frame_or_none():
    def animal(x, z):
        return {"box": [x, 0, 10, 10], "position_m": [x / 100, 0.0, 5.0], "offset_m": z}

    frames = [{"animals": [animal(0, 0.0), animal(50, 0.1)]}, {"animals": [animal(0, 0.0), animal(52, 0.2)]}]
    followed = SimpleNamespace(seen=[SimpleNamespace(x_px=55, y_px=5), SimpleNamespace(x_px=57, y_px=5)])
    assert _places(followed, frames) == pytest.approx(np.array([[0.5, 0.0, 0.1], [0.52, 0.0, 0.2]]))
    lost = SimpleNamespace(seen=[SimpleNamespace(x_px=55, y_px=5), SimpleNamespace(x_px=5, y_px=5)])
    assert _places(lost, frames) is None


def test_boxes_are_pooled_by_middle_and_ninth_decile_of_bursts():
    sizes, white, trends = (dict.fromkeys(SIZES, share) for share in (0.1, 0.05, 0.2))
    bursts = [
        Strayed("pass", "bird", 9, share / 100, 8, share / 1000, 0.01, 0.01, sizes, white, trends, -0.05, 0.1, 0.2)
        for share in range(1, 11)
    ]
    figures = pooled(bursts)
    assert figures["centre_share_median"] == pytest.approx(0.06)
    assert figures["centre_share_p90"] == pytest.approx(0.1)
    assert figures["size_share_diagonal_median"] == pytest.approx(0.1)
    assert figures["white_share_body_line_p90"] == pytest.approx(0.05)
    assert figures["trend_share_outline_root_median"] == pytest.approx(0.2)
    assert figures["placed_share_p90"] == pytest.approx(0.01)
    assert figures["placed_frames"] == pytest.approx(8 / 9)
    assert (figures["blur_common_median"], figures["blur_own_median"]) == (0.05, 0.1)


def test_sizes_of_an_outline_are_those_of_the_figure_that_was_drawn():
    corners = ((10.0, 20.0), (110.0, 20.0), (110.0, 30.0), (10.0, 30.0))
    animal = SimpleNamespace(outline_px=corners, box=Box(10.0, 20.0, 100.0, 10.0))
    assert SIZES["outline_root"](animal) == pytest.approx(np.sqrt(1000.0))
    assert SIZES["outline_longest"](animal) == pytest.approx(100.0)
    assert SIZES["body_line"](animal) == pytest.approx(100.0, rel=0.03)
    assert SIZES["longer_side"](animal) == 100.0
