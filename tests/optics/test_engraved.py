import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError, OutsideModel
from stillwing.optics.engraved import (
    EXPOSURES,
    F_NUMBERS,
    ISOS,
    exposure_words,
    f_number_words,
    iso_words,
    read_exposure,
    read_f_number,
    read_iso,
)

NOTHING = [math.nan, math.inf, 0.0, -1.0]


def test_engraved_names_lie_near_the_exact_thirds_of_a_stop():
    # Common practice, no source; the worst of them, f/1.2 and f/22, are 0.42 and 0.24 thirds of a stop off.
    for names, read, per_doubling, start in [
        (F_NUMBERS, read_f_number, 6, 0.5),
        (EXPOSURES, read_exposure, 3, 2**-15),
        (ISOS, read_iso, 3, 6.25),
    ]:
        exact = start * 2.0 ** (np.arange(len(names)) / per_doubling)
        engraved = np.array([read(name) for name in names])
        assert np.all(np.diff(engraved) > 0)
        assert np.all(np.abs(np.log2(engraved / exact)) * per_doubling < 0.43)


def test_whole_stops_bear_the_names_of_the_standard():
    # ISO 2721 and ISO 12232, from memory.
    assert [f_number_words(2 ** (k / 2)) for k in range(0, 11)] == [
        "f/1",
        "f/1.4",
        "f/2",
        "f/2.8",
        "f/4",
        "f/5.6",
        "f/8",
        "f/11",
        "f/16",
        "f/22",
        "f/32",
    ]
    fast = [exposure_words(2.0**-k).removesuffix(" s") for k in range(13, -1, -1)]
    assert fast == [
        "1/8000",
        "1/4000",
        "1/2000",
        "1/1000",
        "1/500",
        "1/250",
        "1/125",
        "1/60",
        "1/30",
        "1/15",
        "1/8",
        "1/4",
        "0.5",
        "1",
    ]
    assert [exposure_words(2.0**k) for k in range(1, 6)] == ["2 s", "4 s", "8 s", "15 s", "30 s"]
    assert [iso_words(100 * 2**k) for k in range(0, 11)] == [f"ISO {100 * 2**k}" for k in range(0, 11)]


@pytest.mark.parametrize(
    ("words", "value", "expected"),
    [
        (f_number_words, 6.35, "f/6.3"),
        (f_number_words, 22.63, "f/22"),
        (f_number_words, 4.8, "f/4.8"),
        (f_number_words, 6.7, "f/6.7"),
        (exposure_words, 1 / 4096, "1/4000 s"),
        (exposure_words, 1 / 4000, "1/4000 s"),
        (exposure_words, 1 / 3000, "1/3000 s"),
        (exposure_words, 45, "45 s"),
        (iso_words, 1270, "ISO 1250"),
        (iso_words, 102400, "ISO 102400"),
        (iso_words, 1400, "ISO 1400"),
    ],
)
def test_values_off_the_series_are_written_out(words, value, expected):
    assert words(value) == expected


def test_every_engraved_name_reads_back_to_itself():
    assert [f_number_words(read_f_number(name)) for name in F_NUMBERS] == [f"f/{name}" for name in F_NUMBERS]
    assert [exposure_words(read_exposure(name)) for name in EXPOSURES] == [f"{name} s" for name in EXPOSURES]
    assert [iso_words(read_iso(name)) for name in ISOS] == [f"ISO {name}" for name in ISOS]


@given(st.floats(0.5, 90), st.floats(2**-15, 60), st.floats(6.25, 800_000))
def test_words_say_the_value_to_a_sixth_of_a_stop(f_number, exposure_s, iso):
    assert abs(2 * math.log2(read_f_number(f_number_words(f_number)) / f_number)) < 1 / 6
    assert abs(math.log2(read_exposure(exposure_words(exposure_s)) / exposure_s)) < 1 / 6
    assert abs(math.log2(read_iso(iso_words(iso)) / iso)) < 1 / 6


@pytest.mark.parametrize(
    ("read", "text", "value"),
    [
        (read_f_number, "f/8", 8.0),
        (read_f_number, " F5.6 ", 5.6),
        (read_f_number, "11", 11.0),
        (read_exposure, "1/4000", 1 / 4000),
        (read_exposure, "1/250 s", 1 / 250),
        (read_exposure, "0.5s", 0.5),
        (read_exposure, "2 sec", 2.0),
        (read_iso, "ISO 800", 800.0),
        (read_iso, "iso1600", 1600.0),
        (read_iso, "400", 400.0),
    ],
)
def test_settings_are_read_as_people_write_them(read, text, value):
    assert read(text) == value


@pytest.mark.parametrize(
    ("read", "text", "example"),
    [
        (read_f_number, "f/", "f/8"),
        (read_f_number, "wide open", "f/8"),
        (read_f_number, "f/0", "f/8"),
        (read_f_number, "f/-8", "f/8"),
        (read_exposure, "1/0", "1/4000"),
        (read_exposure, "0", "1/4000"),
        (read_exposure, "quick", "1/4000"),
        (read_exposure, "1/4000 m", "1/4000"),
        (read_iso, "ISO", "ISO 800"),
        (read_iso, "0", "ISO 800"),
        (read_iso, "ISO " + "9" * 400, "ISO 800"),
    ],
)
def test_what_cannot_be_read_gets_a_sentence_with_an_example(read, text, example):
    with pytest.raises(InputError, match="write it like") as caught:
        read(text)
    assert repr(text) in str(caught.value)
    assert repr(example) in str(caught.value)


@pytest.mark.parametrize("words", [f_number_words, exposure_words, iso_words])
@pytest.mark.parametrize("value", NOTHING)
def test_no_words_for_what_is_no_setting(words, value):
    with pytest.raises(OutsideModel):
        words(value)
