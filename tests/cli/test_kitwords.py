"""Figures of a kit as people type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.cli.kitwords import parts_asked
from stillwing.errors import InputError
from stillwing.optics.kitparts import KitParts


@pytest.mark.parametrize(
    ("option", "typed", "parts"),
    [
        ("sensor", "17.4x13.0", KitParts(sensor_width_mm=17.4, sensor_height_mm=13.0)),
        ("sensor", " 36 x 24 ", KitParts(sensor_width_mm=36.0, sensor_height_mm=24.0)),
        ("sensor", "17.4×13", KitParts(sensor_width_mm=17.4, sensor_height_mm=13.0)),
        ("pixels", "5184x3888", KitParts(width_px=5184, height_px=3888)),
        ("focal", "75-300", KitParts(shortest_mm=75.0, longest_mm=300.0)),
        ("focal", "400", KitParts(shortest_mm=400.0, longest_mm=400.0)),
        ("aperture", "4.8-6.7", KitParts(widest_at_shortest=4.8, widest_at_longest=6.7)),
        ("aperture", "2.8", KitParts(widest_at_shortest=2.8, widest_at_longest=2.8)),
        ("narrowest", "22", KitParts(narrowest=22.0)),
        ("closest", "1.3", KitParts(closest_focus_m=1.3)),
        ("magnification", ".25", KitParts(largest_magnification=0.25)),
        ("rate", "18", KitParts(frames_per_s=18.0)),
        ("look_back", "0", KitParts(look_back_s=0.0)),
        ("readout", "1/60", KitParts(readout_s=1 / 60)),
        ("readout", "0", KitParts(readout_s=0.0)),
        ("iso", "200-25600", KitParts(lowest_iso=200.0, highest_iso=25600.0)),
        ("shortest", "1/8000", KitParts(shortest_s=1 / 8000)),
        ("converter", "1.4", KitParts(teleconverter=1.4)),
        ("rate", None, KitParts()),
        ("book", "a.sqlite", KitParts()),
    ],
)
def test_a_figure_is_read(option, typed, parts):
    assert parts_asked({option: typed}) == parts


@pytest.mark.parametrize(
    ("option", "typed", "said"),
    [
        ("sensor", "17.4", "--sensor is '17.4'; write width and height in mm with an x between, such as 17.4x13.0"),
        ("sensor", "17,4x13", "--sensor is '17,4x13'; write width and height in mm"),
        ("pixels", "20 MP", "--pixels is '20 MP'; write width and height with an x between, such as 5184x3888"),
        ("pixels", "5184.5x3888", "write width and height with an x between"),
        ("focal", "75 to 300", "--focal is '75 to 300'; write one number or two with a dash between, such as 75-300"),
        ("aperture", "f/4", "--aperture is 'f/4'; write one number or two with a dash between, such as 4.8-6.7"),
        ("narrowest", "-22", "--narrowest is '-22'; write one number, such as 22"),
        ("closest", "", "--closest is ''; write one number, such as 1.3"),
        ("rate", "nan", "--rate is 'nan'; write one number, such as 18"),
        ("look_back", "half", "--look-back is 'half'; write one number, such as 0.5"),
        ("readout", "1/0", "--readout is '1/0', a share of nothing; write seconds, such as 1/60 or 0.02"),
        ("shortest", "8000th", "--shortest is '8000th'; write seconds, such as 1/8000 or 0.02"),
        ("iso", "25600", "--iso is '25600'; write the lowest and the highest with a dash between, such as 200-25600"),
        ("converter", "1.4x", "--converter is '1.4x'; write one number, such as 1.4"),
    ],
)
def test_a_figure_that_cannot_be_read_is_told_with_what_would_be_right(option, typed, said):
    with pytest.raises(InputError) as told:
        parts_asked({option: typed})
    assert said in str(told.value)


@given(
    st.sampled_from(["sensor", "pixels", "focal", "aperture", "rate", "readout", "iso", "shortest"]),
    st.text(st.sampled_from("0123456789./-x eE+_∞٣"), max_size=5000),
)
def test_whatever_is_typed_is_read_or_refused_in_a_sentence(option, typed):
    try:
        parts_asked({option: typed})
    except InputError as error:
        assert "; write " in str(error)
