import json
import math

import cv2
import numpy as np
import pytest

import composites

PIXEL_VARIANCE = 1 / 12
"""What gathering a spread into pixels adds per axis; exact for smooth ones, hence the tolerances."""


def moments(kernel):
    half = (len(kernel) - 1) / 2
    y, x = np.mgrid[: len(kernel), : len(kernel)] - half
    return np.array([(kernel * x * x).sum(), (kernel * y * y).sum(), (kernel * x * y).sum()])


@pytest.mark.parametrize("disc_px", [4.0, 11.0, 30.0])
def test_a_disc_spreads_by_a_quarter_of_its_diameter(disc_px):
    kernel = composites.spread(disc_px, 0.0, 0.0)
    xx, yy, xy = moments(kernel)
    # Variance of a uniform disc of diameter c along one axis: c^2 / 16.
    assert xx == pytest.approx(disc_px**2 / 16 + PIXEL_VARIANCE, rel=0.05)
    assert yy == pytest.approx(xx, rel=1e-3)
    assert xy == pytest.approx(0, abs=1e-3)
    assert composites.sigma_of(kernel) == pytest.approx(math.sqrt(xx), rel=1e-3)


@pytest.mark.parametrize("direction_deg", [0.0, 30.0, 90.0])
def test_a_line_adds_a_twelfth_of_its_length_squared_along_it(direction_deg):
    disc_px, motion_px = 6.0, 18.0
    xx, yy, xy = moments(composites.spread(disc_px, motion_px, direction_deg))
    c, s = math.cos(math.radians(direction_deg)), math.sin(math.radians(direction_deg))
    along = c * c * xx + s * s * yy + 2 * c * s * xy
    across = s * s * xx + c * c * yy - 2 * c * s * xy
    assert along == pytest.approx(motion_px**2 / 12 + disc_px**2 / 16 + PIXEL_VARIANCE, rel=0.03)
    assert across == pytest.approx(disc_px**2 / 16 + PIXEL_VARIANCE, rel=0.05)


def test_one_frame_of_a_burst_is_clearly_the_sharpest():
    for seed in range(40):
        disc = np.sort(composites.defocus_series(np.random.default_rng(seed), 11, 400.0))
        sigmas = [composites.sigma_of(composites.spread(d, 0.0, 0.0)) for d in disc[:2]]
        assert sigmas[1] > sigmas[0] + 0.3


def test_a_wandering_focus_leaves_the_ground_sharpest_where_the_animal_is_softest():
    disc = composites.defocus_series(np.random.default_rng(3), 11, 400.0)
    wandering = 0
    for seed in range(40):
        ground, motion = composites.ground_series(np.random.default_rng(seed), disc)
        if motion.any() or np.ptp(ground) == 0:
            continue
        wandering += 1
        assert ground.argmin() == disc.argmax()
        assert ground.argmax() == disc.argmin()
    assert wandering > 10


@pytest.fixture
def bank(tmp_path):
    """A bank of one drawn animal (a red disc, 200 px) and one drawn ground (plain green)."""
    folder = tmp_path / "bank"
    for name in ("animals", "backgrounds"):
        (folder / name).mkdir(parents=True)
    animal = np.zeros((204, 204, 4), np.uint8)
    cv2.circle(animal, (102, 102), 100, (30, 30, 220, 255), -1)
    cv2.imwrite(str(folder / "animals" / "disc.png"), animal)
    cv2.imwrite(str(folder / "backgrounds" / "green.jpg"), np.full((600, 900, 3), (60, 130, 60), np.uint8))
    rows = ["file,kind,split,package,member", "backgrounds/green.jpg,background,dev,,", "animals/disc.png,insect,dev,,"]
    (folder / "split.csv").write_text("\n".join(rows) + "\n")
    return folder


def test_the_box_lies_round_the_animal_and_empty_frames_have_none(bank, tmp_path, monkeypatch):
    monkeypatch.setattr(composites, "FRAME_SIZES", ((900, 600),))
    composites.render_set(bank, tmp_path / "out", "dev", 2)
    for folder in sorted((tmp_path / "out" / "dev").iterdir()):
        truth = json.loads((folder / "truth.json").read_text())
        assert 10 <= len(truth["frames"]) <= 12
        for frame in truth["frames"]:
            picture = cv2.imread(str(folder / frame["file"])).astype(int)
            ys, xs = np.nonzero(picture[..., 2] - picture[..., 1] > 60)
            if frame["box_px"] is None:
                assert not len(xs)
                continue
            x, y, wide, high = frame["box_px"]
            # What the blur washes out at the rim is at most its own width.
            allowed = 3 + 2 * frame["added_px"]
            seen = (xs.min(), ys.min(), xs.max() + 1, ys.max() + 1)
            assert seen == pytest.approx((x, y, x + wide, y + high), abs=allowed)


def test_a_missing_bank_is_said_and_skipped(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("sys.argv", ["composites.py", "--bank", str(tmp_path), "--out", str(tmp_path / "out")])
    assert composites.main() == 0
    assert "skipped" in capsys.readouterr().out
    assert not (tmp_path / "out").exists()
