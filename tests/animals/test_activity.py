import doctest
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import stillwing.animals.activity as module
from stillwing.animals.activity import Activity, activity
from stillwing.animals.catalogue import CatalogueAnimal, Group, Mark, animal_named, read_catalogue
from stillwing.animals.conditions import Conditions
from stillwing.animals.counts import COUNT_RULES, count_check
from stillwing.animals.factors import FACTORS, sunshine
from stillwing.animals.ramps import ramp
from stillwing.animals.reasons import reasons
from stillwing.animals.season import in_season, month_of
from stillwing.animals.thresholds import COLUMNS, THRESHOLDS, read_thresholds, thresholds_of
from stillwing.errors import InputError, OutsideModel, UnknownThing

CATALOGUE = read_catalogue()
ANIMALS = {animal.key: animal for animal in CATALOGUE.animals}
ODONATES = [animal for animal in CATALOGUE.animals if animal.group is not Group.BIRD]
ALL = pytest.mark.parametrize("animal", CATALOGUE.animals, ids=lambda animal: animal.key)
ALL_ODONATES = pytest.mark.parametrize("animal", ODONATES, ids=lambda animal: animal.key)
SHIPPED = Path(module.__file__).parent / "data" / "activity.csv"
GUIDE, MONITORING = COUNT_RULES

WARINGER = "Waringer 1982, Odonatologica 11(3):239-243, abstract"
BORKENSTEIN = "Borkenstein & Joedicke 2022, Odonatologica 51:83-109, abstract"
JOEDICKE = "Joedicke & Borkenstein 2022, Notul. odonatol. 9:473-481, abstract"
GUIDE_TEXT = "Odonata recording reference guide (Water for Wildlife), page 1"


def fine(animal: CatalogueAnimal | None = None, **changed: float | np.ndarray) -> Conditions:
    """Return weather in which everything flies, at solar noon in mid season, but for what is changed."""
    months = (ANIMALS["hawker"] if animal is None else animal).flight_months
    middle = 30.4 * ((months[0] + len(months) / 2 - 1) % 12) + 1
    usual: dict[str, float | np.ndarray] = {
        "air_c": 22.0,
        "wind_m_s": 1.0,
        "cloud_share": 0.0,
        "illuminance_lx": 95_000.0,
        "rain_mm_h": 0.0,
        "solar_hour": 12.0,
        "day_of_year": middle,
        "is_in_sun": 1.0,
    }
    return Conditions(**{**usual, **changed})  # type: ignore[arg-type]


def of(key: str, **changed: float | np.ndarray) -> Activity:
    return activity(ANIMALS[key], fine(ANIMALS[key], **changed))


def likely(key: str, factor: str, **changed: float | np.ndarray) -> float:
    return float(of(key, **changed).factor(factor).chance.likely)


# --- published thresholds -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "factor", "flies", "source"),
    [
        ({"wind_m_s": 8.05}, "wind", False, f"{WARINGER}: no flight with wind above 8 m/s"),
        (
            {"wind_m_s": 5.4},
            "wind",
            True,
            "British Dragonfly Society protocol: counted up to Force 3, which ends there",
        ),
        ({"illuminance_lx": 59_000.0, "cloud_share": 1.0}, "light", False, f"{WARINGER}: 60,000 lx on cloudy days"),
        ({"illuminance_lx": 59_000.0}, "light", False, f"{WARINGER}: 60,000 lx to begin flight"),
        ({"illuminance_lx": 80_000.0}, "light", True, f"{WARINGER}: above the 60,000 lx"),
    ],
)
def test_azure_damselflies_fly_where_they_were_seen_to(
    changed: dict[str, float], factor: str, flies: bool, source: str
) -> None:
    assert likely("azure-damselfly", factor, **changed) == pytest.approx(float(flies), abs=0.01), source


def test_no_azure_damselfly_flies_above_its_wind_even_at_best() -> None:
    assert of("azure-damselfly", wind_m_s=8.05).factor("wind").chance.high == 0, WARINGER


@pytest.mark.parametrize(("air_c", "seen"), [(3.7, "a male flying"), (6.0, "a pair laying eggs")])
def test_common_darters_fly_in_the_november_sun_and_stay_away_without(air_c: float, seen: str) -> None:
    in_sun = of("common-darter", air_c=air_c).factor("warmth").chance
    in_shade = of("common-darter", air_c=air_c, is_in_sun=0.0).factor("warmth").chance
    overcast = of("common-darter", air_c=air_c, cloud_share=1.0).factor("warmth").chance
    assert in_sun.likely > 0.5, f"{seen}: {BORKENSTEIN}"
    assert in_shade.likely == overcast.likely == 0, f"only on days of intense sun: {BORKENSTEIN}"


def test_damselflies_bask_to_the_temperature_that_was_measured() -> None:
    # Gorb 2019, Int. J. Odonatol. 22:95-100, abstract: thorax up to 21 C in sun, air of 15 to 17 C (Sympecma paedisca).
    assert float(of("emerald-damselfly", air_c=17.0).factor("warmth").felt) == pytest.approx(21.0)
    assert thresholds_of(ANIMALS["emerald-damselfly"])["sun_warming_c"].high == pytest.approx(21.0 - 15.0)


def test_downy_emeralds_fly_for_as_long_as_was_measured() -> None:
    hours = np.arange(0, 24, 1 / 60)
    flies = of("downy-emerald", solar_hour=hours).factor("hour").chance.likely > 0
    assert flies.sum() / 60 == pytest.approx(17 + 41 / 60, abs=0.03), JOEDICKE
    assert likely("downy-emerald", "light", illuminance_lx=400.0) == 1, f"from before sunrise: {JOEDICKE}"
    assert likely("azure-damselfly", "light", illuminance_lx=400.0) == 0


def test_scarce_emerald_damselflies_fly_in_the_afternoon_only() -> None:
    # McKay & Herman 2008, Odonatologica 37(1):29-39, abstract: L. dryas only from 12:00 to 16:00 by the clock, at
    # 62.7 W in daylight time (UTC-3; both from memory): 12 + 3 - 62.7/15 = 10.8 by the sun, and 14.8.
    hours = np.array([9.0, 10.8, 14.8, 16.5])
    chance = of("scarce-emerald-damselfly", solar_hour=hours).factor("hour").chance
    assert chance.likely.tolist() == [0, 1, 1, 0]
    assert (of("damselfly", solar_hour=hours).factor("hour").chance.likely[:3] > 0.9).all()


def test_black_darters_are_most_active_at_solar_noon() -> None:
    # Michiels & Dhondt 1989, Odonatologica 18:349-364, abstract: male maximum coincides with solar noon.
    hours = np.arange(5.0, 20.0, 0.25)
    chance = of("black-darter", solar_hour=hours).factor("hour").chance
    for case in chance:
        assert case[hours == 12.0] == case.max()


def test_heat_ends_activity_between_the_published_limits() -> None:
    # Lutz & Pittman 1970, Ecology 51:279-284, abstract: maximal thresholds of 18 species 30 to 40 C.
    heat = of("darter", air_c=np.array([30.0, 40.0])).factor("heat").chance
    assert heat.low.tolist() == [0.0, 0.0] and heat.high.tolist() == [1.0, 0.0]
    assert heat.likely.tolist() == [1.0, 0.0], f"counts up to 30 C: {GUIDE_TEXT}"


@pytest.mark.parametrize("key", ["dragonfly", "hawker", "common-darter", "damselfly"])
def test_where_both_protocols_count_nearly_all_fly(key: str) -> None:
    # The edge of what both count: 17 C, Force 3, just under 60 % cloud.
    edge = of(key, air_c=17.0, wind_m_s=5.4, cloud_share=0.59, illuminance_lx=np.nan)
    assert edge.chance.likely > 0.9, GUIDE_TEXT


def test_larger_excess_in_the_sun_is_what_the_sources_say() -> None:
    warming = thresholds_of(ANIMALS["common-darter"])["sun_warming_c"]
    assert warming.likely == pytest.approx(13.6 - 3.7), BORKENSTEIN
    assert warming.low == pytest.approx(13.6 - 6.0), BORKENSTEIN
    assert thresholds_of(ANIMALS["hawker"])["sun_warming_c"].low == 17 - 15, GUIDE_TEXT


# --- count protocols ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "clock_hour", "fails"),
    [
        ({}, 12.0, None),
        ({}, 9.75, "between"),
        ({"air_c": 22.5}, 9.75, None),
        ({"air_c": 22.5}, 16.6, "between"),
        ({"air_c": 16.9, "cloud_share": 0.5}, 12.0, "at least"),
        ({"air_c": 15.0, "cloud_share": 0.1, "wind_m_s": 1.0}, 12.0, None),
        ({"air_c": 14.9, "cloud_share": 0.1, "wind_m_s": 1.0}, 12.0, "at least"),
        ({"air_c": 30.1}, 12.0, "at most"),
        ({"cloud_share": 0.6}, 12.0, "cloud"),
        ({"wind_m_s": 8.0}, 12.0, "wind"),
        ({"wind_m_s": 7.9}, 12.0, None),
        ({"rain_mm_h": 0.1}, 12.0, "rain"),
    ],
)
def test_the_guide_allows_what_its_page_allows(changed: dict[str, float], clock_hour: float, fails: str | None) -> None:
    check = count_check(GUIDE, fine(**{"air_c": 20.0, **changed}), clock_hour)
    failing = check.failing()
    assert bool(check.is_allowed) == (fails is None), GUIDE_TEXT
    assert bool(check.is_refused) == (fails is not None)
    assert len(failing) == (0 if fails is None else 1)
    assert fails is None or fails in failing[0]


@pytest.mark.parametrize(
    ("changed", "allowed"),
    [
        ({}, True),
        ({"wind_m_s": 5.5}, False),
        ({"air_c": 15.0}, True),
        ({"air_c": 14.9}, False),
        ({"rain_mm_h": 1}, True),
    ],
)
def test_the_monitoring_protocol_asks_for_force_3_and_15_degrees(changed: dict[str, float], allowed: bool) -> None:
    assert bool(count_check(MONITORING, fine(**changed)).is_allowed) == allowed


def test_a_count_is_neither_allowed_nor_refused_while_something_is_not_known() -> None:
    check = count_check(GUIDE, fine(wind_m_s=np.nan), 12.0)
    assert not check.is_allowed and not check.is_refused
    assert check.unknown() == ("wind",) and check.failing() == ()
    assert count_check(GUIDE, fine()).unknown() == ("hours",)
    assert count_check(GUIDE, fine(wind_m_s=np.nan, air_c=5.0), 12.0).is_refused


def test_a_day_of_counts_is_judged_at_once() -> None:
    clock = np.arange(8.0, 19.0)
    check = count_check(GUIDE, fine(air_c=np.full(11, 20.0)), clock)
    assert clock[check.is_allowed].tolist() == [10, 11, 12, 13, 14, 15, 16]
    assert check.failing(0)[0].startswith("between 10:00 and 16:00")
    with pytest.raises(OutsideModel, match=r"clock_hour is 25 h; this model covers 0 to 24 h"):
        count_check(GUIDE, fine(), 25.0)


# --- season -------------------------------------------------------------------------------------------------------


@ALL
def test_the_first_and_last_month_count_half(animal: CatalogueAnimal) -> None:
    days = np.arange(1.0, 366.0)
    months = np.array([month_of(day) for day in days])
    chance = in_season(animal, days).likely
    for month in range(1, 13):
        mean = chance[months == month].mean()
        if len(animal.flight_months) == 12:
            assert mean == 1
        elif month not in animal.flight_months:
            assert mean == 0
        elif month in (animal.flight_months[0], animal.flight_months[-1]):
            assert mean == pytest.approx(0.5, abs=0.02)
        else:
            assert mean == pytest.approx(1.0, abs=0.01)


def test_a_winter_visitor_is_in_season_over_new_year() -> None:
    brent_goose = in_season(ANIMALS["brent-goose"], np.array([1.0, 365.0, 366.0, 200.0]))
    assert brent_goose.likely.tolist() == [1, 1, 1, 0]


def test_a_leap_day_is_a_day_and_months_begin_where_they_do() -> None:
    assert [month_of(day) for day in (1, 31, 31.9, 32, 59, 60, 365, 366)] == [1, 1, 1, 2, 2, 3, 12, 12]


# --- what holds of every curve ------------------------------------------------------------------------------------


@given(
    animal=st.sampled_from(CATALOGUE.animals),
    air_c=st.floats(-20, 50),
    wind_m_s=st.floats(0, 40),
    cloud_share=st.floats(0, 1),
    illuminance_lx=st.floats(0, 150_000),
    solar_hour=st.floats(0, 24),
    day_of_year=st.floats(1, 366),
)
def test_chances_lie_between_0_and_1_and_ranges_do_not_cross(animal: CatalogueAnimal, **weather: float) -> None:
    told = activity(animal, Conditions(**weather, rain_mm_h=0.1, is_in_sun=1.0))
    for chance in (told.chance, *(factor.chance for factor in told.factors)):
        assert 0 <= chance.low <= chance.likely <= chance.high <= 1


@ALL_ODONATES
@pytest.mark.parametrize(
    ("factor", "field", "values", "grows"),
    [
        ("warmth", "air_c", np.linspace(-10, 30, 161), True),
        ("warmth", "cloud_share", np.linspace(0, 1, 101), False),
        ("heat", "air_c", np.linspace(10, 50, 161), False),
        ("wind", "wind_m_s", np.linspace(0, 20, 201), False),
        ("rain", "rain_mm_h", np.linspace(0, 4, 101), False),
        ("light", "illuminance_lx", np.append(0, np.geomspace(0.1, 100_000, 201)), True),
        ("hour", "solar_hour", np.linspace(0, 12, 121), True),
        ("hour", "solar_hour", np.linspace(14, 24, 101), False),
    ],
)
def test_each_factor_only_grows_or_only_shrinks_and_reaches_both_ends(
    animal: CatalogueAnimal, factor: str, field: str, values: np.ndarray, grows: bool
) -> None:
    air = {} if factor != "warmth" or field == "air_c" else {"air_c": 10.0}
    chance = activity(animal, fine(animal, **{**air, field: values})).factor(factor).chance
    for case in chance:
        steps = np.diff(case)
        assert (steps >= 0).all() if grows else (steps <= 0).all()
        assert np.abs(steps).max() < 0.75, "no jump"
        if field != "cloud_share":
            assert case.min() == 0
    if field != "cloud_share":
        assert chance.high.max() == 1


@ALL_ODONATES
def test_the_product_is_what_the_factors_give(animal: CatalogueAnimal) -> None:
    told = activity(animal, fine(animal, air_c=13.5, wind_m_s=6.0, cloud_share=0.3, illuminance_lx=45_000.0))
    for case in range(3):
        product = np.prod([float(factor.chance[case]) for factor in told.factors])
        assert float(told.chance[case]) == pytest.approx(product)
    assert [factor.name for factor in told.factors] == list(FACTORS)


def test_a_ramp_is_level_at_its_ends_and_half_way_in_the_middle() -> None:
    x = np.array([9.0, 10.0, 10.01, 11.0, 11.99, 12.0, np.nan])
    assert ramp(x, 10.0, 12.0)[[0, 1, 3, 5]].tolist() == [0, 0, 0.5, 1]
    assert ramp(x, 10.0, 12.0)[2] < 1e-4 and ramp(x, 10.0, 12.0)[4] > 1 - 1e-4
    assert np.isnan(ramp(x, 10.0, 12.0)[6])
    assert ramp(x, 12.0, 10.0)[:6] == pytest.approx(1 - ramp(x, 10.0, 12.0)[:6])


# --- what is not known --------------------------------------------------------------------------------------------


@ALL
def test_nothing_known_is_1_and_says_so(animal: CatalogueAnimal) -> None:
    told = activity(animal, Conditions())
    assert [float(case) for case in told.chance] == [1, 1, 1]
    for factor, words in zip(told.factors, reasons(told), strict=True):
        assert not factor.is_known
        assert "not counted" in words if factor.has_threshold else "no threshold known" in words


@pytest.mark.parametrize(
    ("missing", "factors"),
    [
        (("air_c",), {"warmth", "heat"}),
        (("wind_m_s",), {"wind"}),
        (("rain_mm_h",), {"rain"}),
        (("solar_hour",), {"hour"}),
        (("day_of_year",), {"season"}),
        (("illuminance_lx",), set()),
        (("illuminance_lx", "cloud_share"), {"light"}),
    ],
)
def test_what_is_missing_leaves_the_other_factors_as_they_were(missing: tuple[str, ...], factors: set[str]) -> None:
    poor = {
        "air_c": 13.0,
        "wind_m_s": 6.0,
        "cloud_share": 0.5,
        "illuminance_lx": 45e3,
        "rain_mm_h": 0.2,
        "solar_hour": 8.0,
    }
    whole, holed = of("damselfly", **poor), of("damselfly", **{**poor, **dict.fromkeys(missing, np.nan)})
    assert {factor.name for factor in holed.factors if not factor.is_known} == factors
    for factor in factors:
        assert [float(case) for case in holed.factor(factor).chance] == [1, 1, 1]
    for one in set(FACTORS) - factors - {"light", "warmth"}:
        assert whole.factor(one).chance == holed.factor(one).chance


def test_a_sun_that_nobody_told_of_warms_at_best_only() -> None:
    unknown = sunshine(Conditions(air_c=12.0))
    assert [float(case) for case in unknown] == [0, 0, 1]
    assert [float(case) for case in sunshine(Conditions(cloud_share=0.25))] == [0.75] * 3
    assert [float(case) for case in sunshine(Conditions(cloud_share=0.25, is_in_sun=0.0))] == [0] * 3
    assert [float(case) for case in sunshine(Conditions(is_in_sun=1.0, illuminance_lx=500.0))] == [0] * 3


def test_without_illuminance_cloud_tells_how_light_it_is() -> None:
    light = of("damselfly", illuminance_lx=np.nan, cloud_share=np.array([0.0, 0.6, 1.0])).factor("light").chance.likely
    assert light[0] == light[1] == 1 and light[2] == thresholds_of(ANIMALS["damselfly"])["overcast_share"].likely


@pytest.mark.parametrize("animal", [a for a in CATALOGUE.animals if a.group is Group.BIRD], ids=lambda a: a.key)
def test_no_threshold_is_invented_for_birds(animal: CatalogueAnimal) -> None:
    storm = activity(animal, fine(animal, air_c=-5.0, wind_m_s=25.0, rain_mm_h=5.0, solar_hour=0.0, illuminance_lx=0.0))
    assert thresholds_of(animal) == {}
    assert storm.chance == storm.factor("season").chance
    assert all("no threshold known" in words for words in reasons(storm)[1:])


# --- arrays, words, speed -----------------------------------------------------------------------------------------


def test_an_array_gives_what_its_numbers_give_one_by_one() -> None:
    rng = np.random.default_rng(5)
    many = {
        "air_c": rng.uniform(0, 40, (4, 5)),
        "wind_m_s": rng.uniform(0, 12, (4, 5)),
        "cloud_share": rng.uniform(0, 1, (4, 5)),
        "illuminance_lx": rng.uniform(0, 1e5, 5),
        "solar_hour": rng.uniform(0, 24, (4, 1)),
        "day_of_year": rng.uniform(1, 366, (4, 5)),
    }
    for key in ("hawker", "azure-damselfly", "common-swift"):
        told = activity(ANIMALS[key], Conditions(**many))
        for at in np.ndindex(4, 5):
            one = Conditions(**{name: np.broadcast_to(values, (4, 5))[at] for name, values in many.items()})
            single = activity(ANIMALS[key], one)
            assert [case[at] for case in told.chance] == pytest.approx([float(case) for case in single.chance])
            assert reasons(told, at) == reasons(single)
            assert told.weakest[at] == single.weakest


@pytest.mark.parametrize(
    ("key", "changed", "words"),
    [
        ("hawker", {"air_c": 11.0, "cloud_share": 1.0}, "11 °C: too cold for the hawker until the sun has warmed it"),
        ("hawker", {"air_c": 6.0, "cloud_share": 1.0}, "6 °C: too cold for the hawker"),
        ("hawker", {"air_c": 6.0}, "6 °C and sun, as warm as 10 °C: too cold for the hawker"),
        ("hawker", {"air_c": 13.5, "is_in_sun": 0.0}, "14 °C: cool for the hawker, not all fly"),
        ("hawker", {"air_c": 20.0, "is_in_sun": 0.0}, "20 °C: warm enough for the hawker"),
        ("hawker", {"air_c": 36.0}, "36 °C: too hot, they rest in the shade"),
        ("hawker", {"wind_m_s": 12.0}, "wind 12.0 m/s: too windy"),
        ("hawker", {"rain_mm_h": 0.0}, "dry"),
        ("hawker", {"rain_mm_h": 1.0}, "rain 1.0 mm/h: they shelter"),
        ("azure-damselfly", {"illuminance_lx": 50_000.0}, "50,000 lx: too dark"),
        ("azure-damselfly", {"illuminance_lx": np.nan, "cloud_share": 1.0}, "100 % cloud: dim, not all fly"),
        ("azure-damselfly", {"solar_hour": 5.5}, "05:30 by the sun: not its hours"),
        ("azure-damselfly", {"day_of_year": 15.0}, "January: out of season (May to August)"),
    ],
)
def test_reasons_say_what_was_met_and_what_comes_of_it(key: str, changed: dict[str, float], words: str) -> None:
    assert words in reasons(of(key, **changed))


def test_the_weakest_factor_is_the_one_that_keeps_them_down() -> None:
    told = of("hawker", wind_m_s=np.array([1.0, 9.0, 1.0]), air_c=np.array([20.0, 20.0, 5.0]))
    assert [FACTORS[place] for place in told.weakest[1:]] == ["wind", "warmth"]
    with pytest.raises(UnknownThing, match='no factor of activity is called "moon"'):
        told.factor("moon")


# --- input --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"air_c": 293.0}, "air_c is 293 °C; this model covers -60 to 60 °C"),
        ({"wind_m_s": -1.0}, "wind_m_s is -1 m/s"),
        ({"cloud_share": 60.0}, "cloud_share is 60 (a share, 60 % is 0.6)"),
        ({"solar_hour": np.array([12.0, 25.0])}, "solar_hour is 25 h"),
        ({"day_of_year": 0.0}, "day_of_year is 0"),
        ({"rain_mm_h": np.inf}, "rain_mm_h is inf mm/h"),
    ],
)
def test_what_cannot_be_on_earth_is_refused(wrong: dict[str, float], message: str) -> None:
    with pytest.raises(OutsideModel) as caught:
        fine(**wrong)
    assert message in str(caught.value)


def test_shapes_that_do_not_fit_are_named() -> None:
    with pytest.raises(InputError, match=r"shapes that do not fit each other: air_c \(3,\), wind_m_s \(2,\)"):
        Conditions(air_c=np.zeros(3), wind_m_s=np.zeros(2))


# --- the table ----------------------------------------------------------------------------------------------------


def test_every_odonate_has_all_thresholds_each_with_a_source() -> None:
    for animal in ODONATES:
        limits = thresholds_of(animal)
        assert set(limits) == set(THRESHOLDS)
        for figure in limits.values():
            assert figure.taken_from in ANIMALS and figure.source
            if figure.mark is Mark.READ:
                assert any(word in figure.source for word in ("abstract", "guide", "protocol"))


def test_an_animal_of_another_catalogue_has_what_its_kin_has() -> None:
    length = animal_named(CATALOGUE, "75 mm hawker")
    assert thresholds_of(length) is thresholds_of(ANIMALS["hawker"])


HAWKER = "hawker,wind_none_m_s,9,10,11,m/s,read,a source"


@pytest.mark.parametrize(
    ("row", "message"),
    [
        ("unicorn,wind_none_m_s,9,10,11,m/s,read,a source", 'line 2: no animal of the catalogue has the key "unicorn"'),
        ("hawker,snow,9,10,11,m/s,read,a source", 'line 2: quantity is "snow"'),
        ("hawker,wind_none_m_s,9,10,11,knots,read,a source", 'line 2: unit is "knots"; it is one of m/s'),
        ("hawker,wind_none_m_s,11,10,9,m/s,read,a source", "line 2: low, likely and high are 11, 10, 9"),
        ("hawker,wind_none_m_s,nine,10,11,m/s,read,a source", 'line 2: low is "nine"'),
        ("hawker,wind_none_m_s,0,10,11,m/s,read,a source", "line 2: low is 0 m/s; wind_none_m_s is above 0"),
        ("hawker,wind_none_m_s,9,10,11,m/s,sure,a source", 'line 2: mark is "sure"'),
        ("hawker,wind_none_m_s,9,10,11,m/s,read,", "line 2: source is empty"),
        ("hawker,evening_none_h,9,10,25,h,read,a source", "line 2: high is 25; evening_none_h is at most 24"),
        (f"{HAWKER}\n{HAWKER}", "line 3: wind_none_m_s of hawker stands there twice"),
        ("dragonfly,wind_none_m_s,9,10,11,m/s,read,a source", "line 2: dragonfly has no sun_warming_c; give all"),
        (
            "hawker,wind_full_m_s,1,2,3,m/s,read,a source\nhawker,wind_none_m_s,1.5,2,4,m/s,read,a source",
            "line 3: hawker has wind_full_m_s 2 and wind_none_m_s 2 (likely); the first must be below the second",
        ),
        ("hawker,wind_none_m_s,9,10", "line 2: 4 cells where 8 belong"),
    ],
)
def test_a_wrong_table_is_told_by_line(tmp_path: Path, row: str, message: str) -> None:
    table = tmp_path / "activity.csv"
    table.write_text(f"{','.join(COLUMNS)}\n{row}\n")
    with pytest.raises(InputError) as caught:
        read_thresholds(table)
    assert str(caught.value).startswith("activity.csv, line") and message in str(caught.value)


def test_the_shipped_table_is_the_one_that_is_read() -> None:
    assert read_thresholds(SHIPPED) == read_thresholds()


def test_the_page_about_activity_runs_and_gives_the_table() -> None:
    page = Path(__file__).parents[2] / "docs" / "activity.md"
    ran = doctest.testfile(str(page), module_relative=False, encoding="utf-8")
    assert ran.attempted > 5 and ran.failed == 0
    text = page.read_text(encoding="utf-8")
    for key, limits in read_thresholds().items():
        for name, figure in limits.items():
            if figure.taken_from == key:
                told = f"{figure.likely:,g}" if figure.likely < 1000 else f"{figure.likely:,.0f}"
                assert f"`{name}`" in text and told in text, (key, name, told)
