"""Camera and lens of a burst: by hand from tags and kit, and one sentence for each thing that is missing."""

from dataclasses import replace

import pytest

from frames.made_files import RATIONAL, SHORT, write_jpeg
from stillwing.frames.frame import Tags
from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.review.burstsetting import BurstSetting, SettingUnknown, burst_setting, steady_focus

SIZE = (144, 96)
WRITTEN = {
    "Photo.FocalLength": (RATIONAL, "300/1"),
    "Photo.FNumber": (RATIONAL, "63/10"),
    "Photo.SubjectDistance": (RATIONAL, "2734/1000"),
    # 144 px over 17.4 mm: 82.76 px per cm.
    "Photo.FocalPlaneXResolution": (RATIONAL, "144000/1740"),
    "Photo.FocalPlaneYResolution": (RATIONAL, "144000/1740"),
    "Photo.FocalPlaneResolutionUnit": (SHORT, "3"),
}
TAGS = Tags(exposure_s=1 / 2000, f_number=6.3, focal_length_mm=300.0, focus_distance_m=2.734)
LENS = Lens(75, 300, 4.8, 6.7, closest_focus_m=0.9, largest_magnification=0.5)
KIT = Kit("long", CameraBody(17.4, 11.6, 144, 96, readout_s=0.02), LENS)


def told_of(tmp_path, tags=(TAGS, TAGS), kit=KIT, **changed):
    written = {key: value for key, value in (WRITTEN | {f"Photo.{k}": v for k, v in changed.items()}).items() if value}
    return burst_setting(write_jpeg(tmp_path / "a.jpg", written), tags, SIZE, kit)


def test_a_setting_is_that_of_tags_and_kit(tmp_path):
    told = told_of(tmp_path)
    assert isinstance(told, BurstSetting)
    assert told.missing == ()
    assert told.kit.pitch_mm == pytest.approx(17.4 / 144, rel=1e-3)
    # 200 mm at 0.9 m (900 / 4.5), growing linearly in one over the distance: 300 - 100 x 900/2734 mm.
    assert told.kit.focal_length_mm.likely == pytest.approx(267.08, abs=0.05)
    assert (told.kit.f_number, told.kit.exposure_s) == (6.3, 1 / 2000)
    assert told.kit.row_s == pytest.approx(0.02 / 96)
    assert told.focus_m.likely == pytest.approx(2.734)
    assert told.focus_m.high / told.focus_m.likely == pytest.approx(1.02)


def test_without_a_kit_the_focal_length_is_more_open_and_it_is_said(tmp_path):
    known, unknown = told_of(tmp_path), told_of(tmp_path, kit=None)
    assert isinstance(known, BurstSetting) and isinstance(unknown, BurstSetting)
    assert unknown.kit.focal_length_mm.low < known.kit.focal_length_mm.low
    assert unknown.kit.row_s == 0.0
    assert "no one kit in the field book fits" in unknown.missing[0].words


def test_a_kit_without_magnification_and_a_changing_exposure_are_said(tmp_path):
    bare = replace(KIT, lens=Lens(75, 300, 4.8, 6.7))
    told = told_of(tmp_path, (TAGS, replace(TAGS, exposure_s=1 / 500)), bare)
    assert isinstance(told, BurstSetting)
    first, second = (one.words for one in told.missing)
    assert "add the largest magnification" in first
    assert "exposure changed by more than a stop" in second


def test_a_camera_held_upright_has_rows_that_stand(tmp_path):
    told = told_of(tmp_path, (replace(TAGS, orientation=6),) * 2)
    assert isinstance(told, BurstSetting)
    assert told.kit.row_s == 0.0
    assert "held upright" in told.missing[0].words


@pytest.mark.parametrize(
    ("tags", "changed", "words"),
    [
        ((TAGS,), {"SubjectDistance": None}, "do not tell the focus distance"),
        ((TAGS,), {"FocalPlaneXResolution": None, "FocalPlaneYResolution": None}, None),
        ((replace(TAGS, f_number=None),), {}, "do not tell the f-number"),
        ((replace(TAGS, exposure_s=None),), {}, "do not tell the exposure time"),
        ((TAGS, replace(TAGS, focal_length_mm=200.0)), {}, "focal length went from 200 to 300"),
        ((TAGS,), {"SubjectDistance": (RATIONAL, "5/10")}, "do not go together"),
    ],
)
def test_what_is_missing_is_said_in_one_sentence_each(tmp_path, tags, changed, words):
    told = told_of(tmp_path, tags, **changed)
    if words is None:
        # The kit tells the size of the sensor where the tags do not.
        assert isinstance(told, BurstSetting)
        return
    assert isinstance(told, SettingUnknown)
    (one,) = told.missing
    assert words in one.words and one.cure and "\n" not in one.words


def test_a_picture_that_is_gone_is_named(tmp_path):
    told = burst_setting(tmp_path / "gone.jpg", (TAGS,), SIZE, KIT)
    assert isinstance(told, SettingUnknown)
    assert "gone.jpg" in told.missing[0].words


def at(*distances):
    return [Tags(focus_distance_m=distance) for distance in distances]


def test_the_longest_run_of_held_focus_is_taken():
    assert steady_focus(at(5.0, 5.0, 5.2, 5.2, 5.201, 5.2, 4.9)) == (2, 5)
    assert steady_focus(at(5.0, None, 5.0, None)) == (0, 3)
    assert steady_focus(at(None, None)) == (0, 1)
    # A slow drift is not held, however small each step.
    assert steady_focus(at(*(5.0 * 1.0015**k for k in range(6))))[1] < 5
