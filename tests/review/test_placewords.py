"""Which place pays, without claiming what luck may have made."""

import pytest

from stillwing.review.placewords import place_name, places_sentence, rate_figure
from stillwing.review.rates import By, PlaceRate, against_best, rate


def perch(name, n, hours=2.0, stand="east"):
    return PlaceRate(rate(n, hours), stand=stand, perch=name)


def test_perches_that_luck_may_have_parted_are_not_told_apart():
    # 12 and 5 in two hours each: the chance of 12 or more, or 5 or fewer, of 17 at one half is 2 x 9402 / 2^17 = 0.143.
    told = places_sentence((perch("post", 12), perch("reed", 5)), By.PERCH, "returns")
    assert told == ("post brings 6.0 returns an hour (95 % interval 3.1 to 10); post and reed cannot be told apart yet")


def test_a_surely_better_perch_is_said_to_bring_more():
    told = places_sentence((perch("post", 30), perch("twig", 25), perch("reed", 2)), By.PERCH, "returns")
    assert told.endswith("; more than reed; post and twig cannot be told apart yet")


@pytest.mark.parametrize("n", range(3, 15))
def test_what_is_said_follows_the_exact_test(n):
    places = (perch("post", 14), perch("reed", n))
    is_surely_more = against_best(places)[0].chance_by_luck < 0.05
    assert ("more than reed" in places_sentence(places, By.PERCH, "returns")) is is_surely_more


def test_one_perch_has_nothing_to_be_compared_with():
    assert places_sentence((perch("post", 3),), By.PERCH, "returns").endswith(
        ", the only perch so far: nothing to compare it with"
    )


@pytest.mark.parametrize("places", [(), (perch("post", 0), perch("reed", 0))])
def test_nothing_counted_is_said(places):
    assert places_sentence(places, By.PERCH, "returns") == "no returns were logged with a perch"


def test_a_perch_of_several_stands_is_named_with_its_stand():
    places = (perch("post", 5), perch("post", 3, stand="west"), perch("reed", 1, stand=""))
    assert [place_name(place, By.PERCH, places) for place in places] == ["post from east", "post from west", "reed"]


def test_words_for_the_weather_are_quoted_because_they_hold_commas():
    places = tuple(PlaceRate(rate(n, 1.0), conditions=words) for n, words in ((5, "sun, calm"), (4, "")))
    assert "'sun, calm' and weather without words cannot be told apart" in places_sentence(
        places, By.CONDITIONS, "hovers"
    )


def test_more_events_never_make_a_smaller_figure():
    figures = [float(rate_figure(n / 7)) for n in range(200)]
    assert figures == sorted(figures)
