"""Lines over the plane of settings: each lies where the solver's own figures say that it does."""

from dataclasses import replace

import numpy as np
import pytest

from stillwing.errors import InputError
from stillwing.fieldbook.kits import EXAMPLE_KIT
from stillwing.optics.answer import Answer, Setting, answer, settings_at
from stillwing.optics.question import Wish, pose
from stillwing.optics.subject import STILL, Behaviour
from stillwing.optics.tradeoff import Line, LineKind, camera_iso, point_at, trade_off

from .posed import GULL

WISH = Wish(ev100=13, distance_m=20, shown_width_px=2835)


@pytest.fixture(scope="module")
def asked() -> Answer:
    return answer(EXAMPLE_KIT, GULL, WISH)


def lines_of(asked: Answer, kind: LineKind) -> list[Line]:
    return [line for line in trade_off(asked).lines if line.kind is kind]


def along(asked: Answer, line: Line) -> tuple[Setting, ...]:
    """Return what the solver says of the points of a line that lie on the plane, at the ISO that the light asks for."""
    shown = trade_off(asked).plane
    f_number, exposure_s = np.array(line.f_numbers), np.array(line.exposures_s)
    on = (exposure_s > shown.exposures_s[0]) & (exposure_s < shown.exposures_s[-1])
    question = pose(asked.kit, asked.subject, asked.wish, asked.distance_m)
    # The exposure equation (ISO 2720), written anew: S = 100 N^2 / (t 2^EV), N as it works close up.
    working = f_number[on] * question.bellows[0]
    iso = 100 * working**2 / (exposure_s[on] * 2.0 ** question.ev100[0])
    return settings_at(question, f_number[on], exposure_s[on], iso)


def test_one_iso_holds_along_each_of_its_lines(asked: Answer) -> None:
    lines = lines_of(asked, LineKind.ISO)
    assert len(lines) >= 5
    for line in lines:
        assert [at.iso for at in along(asked, line)] == pytest.approx([line.iso] * len(along(asked, line)), rel=1e-9)


def test_lines_of_iso_are_whole_stops_that_the_camera_has(asked: Answer) -> None:
    isos = [line.iso for line in lines_of(asked, LineKind.ISO)]
    assert isos == [200 * 2**k for k in range(len(isos))]
    assert isos[-1] <= asked.kit.camera.highest_iso


def test_noise_has_the_wanted_figure_along_its_line(asked: Answer) -> None:
    (line,) = lines_of(asked, LineKind.NOISE_SEEN)
    snr = [at.snr for at in along(asked, line)]
    assert len(snr) > 20
    assert snr == pytest.approx([asked.wish.snr_wanted] * len(snr), rel=1e-6)


def test_blur_is_at_its_limit_along_the_lines_of_sharpness(asked: Answer) -> None:
    (body,), (part,) = lines_of(asked, LineKind.BODY_SHARP), lines_of(asked, LineKind.PART_SHARP)
    limit = asked.blur_limit_px
    whole = [at.blur_px for at in along(asked, body)]
    assert len(whole) > 20
    assert whole == pytest.approx([limit] * len(whole), rel=1e-6)
    sharpest = [at.sharpest_px for at in along(asked, part)]
    assert sharpest == pytest.approx([limit] * len(sharpest), rel=1e-6)


def test_the_sharpest_part_bears_a_longer_exposure_than_the_whole_body(asked: Answer) -> None:
    (body,), (part,) = lines_of(asked, LineKind.BODY_SHARP), lines_of(asked, LineKind.PART_SHARP)
    both = set(body.f_numbers) & set(part.f_numbers)
    assert both
    whole, sharpest = (dict(zip(line.f_numbers, line.exposures_s, strict=True)) for line in (body, part))
    assert all(sharpest[n] >= whole[n] for n in both)


def test_a_body_that_is_sharp_nowhere_has_no_line(asked: Answer) -> None:
    deep = replace(GULL, thickness_mm=4000.0)
    kinds = {line.kind for line in trade_off(answer(EXAMPLE_KIT, deep, replace(WISH, distance_m=8))).lines}
    assert LineKind.BODY_SHARP not in kinds
    assert LineKind.ISO in kinds


def test_what_keeps_still_on_a_tripod_has_no_longest_exposure() -> None:
    still = replace(GULL, behaviour=Behaviour.PERCH, speed_m_s=STILL, wingbeat_hz=STILL, stroke_deg=STILL)
    made = trade_off(answer(EXAMPLE_KIT, still, replace(WISH, shake_deg_s=0.0)))
    for line in made.lines:
        assert np.isfinite(line.exposures_s).all()
    sharp = [at.blur_px for at in made.plane.settings]
    # Without motion the exposure does not matter: all settings of one f-number blur alike.
    n = len(made.plane.exposures_s)
    assert sharp[:n] == pytest.approx([sharp[0]] * n)


def test_the_point_of_the_answer_gives_what_the_answer_expects(asked: Answer) -> None:
    point = point_at(asked, asked.best.f_number, asked.best.exposure_s)
    assert point.is_possible
    assert point.expected == asked.expected
    assert point.setting.words == asked.best.words


@pytest.mark.parametrize(("f_number", "exposure_s", "words"), [(8, 1 / 3200, "f/8, 1/3200 s"), (11, 0.001, "f/11")])
def test_engraved_names_mean_their_step(asked: Answer, f_number: float, exposure_s: float, words: str) -> None:
    assert point_at(asked, f_number, exposure_s).setting.words.startswith(words)


def test_a_shorter_exposure_gives_more_sharp_frames_of_a_bird_that_passes(asked: Answer) -> None:
    shares = [point_at(asked, 8, 1 / t).expected.sharp_share.likely for t in (250, 500, 1000, 2000, 4000)]
    assert shares == sorted(shares)
    assert shares[-1] > shares[0] + 0.2


@pytest.mark.parametrize(
    ("f_number", "exposure_s", "sentence"),
    [
        (2.8, 0.001, "the f-number is f/2.8; here it lies between f/6.7 and f/22"),
        (8, 4.0, "the exposure is 4 s; here it lies between 1/8000 s and"),
    ],
)
def test_a_setting_beyond_the_plane_is_told_with_its_ends(
    asked: Answer, f_number: float, exposure_s: float, sentence: str
) -> None:
    with pytest.raises(InputError, match=sentence.replace("/", r"\/")):
        point_at(asked, f_number, exposure_s)


def test_a_camera_sets_thirds_of_a_stop() -> None:
    assert camera_iso(1300) == pytest.approx(100 * 2 ** (11 / 3))
    assert camera_iso(51000) == pytest.approx(51200)
