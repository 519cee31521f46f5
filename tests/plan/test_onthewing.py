"""Flight seasons over the year against days counted by hand, and what the words say of them against the catalogue."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from stillwing.animals.catalogue import Group, Mark, animal_named, read_catalogue
from stillwing.animals.season import in_season
from stillwing.errors import InputError
from stillwing.plan.onthewing import MONTH_NAMES, HalfMonth, month_words, on_the_wing, wing_doubts, year_words

CATALOGUE = read_catalogue()


def animal(months, group=Group.DRAGONFLY, name="made", like=None, **more):
    """Return an animal of the catalogue with other months and another name."""
    like_it = next(one for one in CATALOGUE.animals if one.group is group)
    key = name.casefold().replace(" ", "-")
    return replace(like_it, key=key, name=name, flight_months=tuple(months), like=like, **more)


def only(wing):
    (row,) = wing.rows
    return row


def test_the_months_in_the_table_are_those_in_which_there_is_a_chance():
    for row in on_the_wing(CATALOGUE.animals, 2026).rows:
        by_month = row.chance.likely.reshape(12, 2).max(axis=1)
        assert {month for month in range(1, 13) if by_month[month - 1] > 0} == set(row.animal.flight_months)
        assert (row.chance.low <= row.chance.likely + 1e-12).all()
        assert (row.chance.likely <= row.chance.high + 1e-12).all()


@pytest.mark.parametrize("year", [2023, 2024])
def test_a_half_month_is_the_mean_of_its_days(year):
    swift = animal_named(CATALOGUE, "common swift")
    row = only(on_the_wing([swift], year))
    wing = on_the_wing([swift], year)
    assert len(wing.halves) == 24
    for column, (month, is_second) in enumerate(wing.halves):
        day, chances = date(year, month, 16 if is_second else 1), []
        while day.month == month and (is_second or day.day <= 15):
            # Days of a common year, so that months begin alike in leap years.
            common = date(2023, 3, 1) if (day.month, day.day) == (2, 29) else day.replace(year=2023)
            chances.append(float(in_season(swift, np.array(float(common.timetuple().tm_yday))).likely))
            day += timedelta(days=1)
        assert row.chance.likely[column] == pytest.approx(np.mean(chances), abs=1e-9)
    assert wing.halves[9] == HalfMonth(5, True)


def test_the_first_and_last_month_count_about_half_and_those_between_in_full():
    # The curve is a half turn about its middle, so its mean over a whole month is a half.
    row = only(on_the_wing([animal((5, 6, 7, 8))], 2023))
    by_month = row.chance.likely.reshape(12, 2).mean(axis=1)
    assert by_month[[4, 7]] == pytest.approx([0.5, 0.5], abs=0.03)
    assert by_month[[5, 6]].tolist() == [1.0, 1.0]
    assert row.best_months == (6, 7)
    assert row.chance.likely[8] < row.chance.likely[9]


@pytest.mark.parametrize(
    ("months", "best"),
    [
        ((7,), (7,)),
        ((6, 7), (6, 7)),
        ((10, 11, 12, 1, 2, 3, 4), (11, 12, 1, 2, 3)),
        (tuple(range(1, 13)), ()),
    ],
)
def test_best_months_stand_in_order_of_the_season(months, best):
    assert only(on_the_wing([animal(months)], 2023)).best_months == best


def test_rows_stand_by_group_then_first_month_then_name():
    wing = on_the_wing(CATALOGUE.animals[::-1], 2026)
    keys = [(row.animal.group, row.animal.flight_months[0], row.animal.name.casefold()) for row in wing.rows]
    groups = [Group.DRAGONFLY, Group.DAMSELFLY, Group.BIRD]
    assert keys == sorted(keys, key=lambda key: (groups.index(key[0]), *key[1:]))
    assert len(wing.rows) == len(CATALOGUE.animals)
    assert {row.animal.group for row in wing.rows_of(Group.BIRD)} == {Group.BIRD}


def test_kinds_are_counted_by_hand_and_classes_only_without_their_species():
    species = [one for one in CATALOGUE.animals if not one.is_class]
    wing = on_the_wing(CATALOGUE.animals, 2026)
    for group in Group:
        mine = [one for one in species if one.group is group]
        counted = tuple(sum(month in one.flight_months for one in mine) for month in range(1, 13))
        assert wing.n_about[group] == counted
        assert wing.n_kinds[group] == len(mine)
    alone = on_the_wing([animal_named(CATALOGUE, "gull"), animal_named(CATALOGUE, "tern")], 2026)
    assert alone.n_kinds == {Group.BIRD: 2}
    assert alone.n_about[Group.BIRD] == (1, 1, 1, 2, 2, 2, 2, 2, 2, 1, 1, 1)


def test_the_quiet_months_of_one_group_tell_of_the_others():
    wing = on_the_wing(CATALOGUE.animals, 2026)
    n_january, n_april = wing.n_about[Group.BIRD][0], wing.n_about[Group.BIRD][3]
    assert n_january > 20
    assert month_words(wing, 1) == (
        f"January: no dragonfly or damselfly is on the wing; {n_january} birds are, Wigeon and Brent Goose for the "
        "winter alone"
    )
    july = [wing.n_about[group][6] for group in (Group.DRAGONFLY, Group.DAMSELFLY, Group.BIRD)]
    assert min(july) > 10
    assert month_words(wing, 7) == (
        f"July: {july[0]} dragonflies, {july[1]} damselflies and {july[2]} birds are on the wing"
    )
    assert n_april > n_january
    dragonflies, _, birds = year_words(wing)
    assert dragonflies.endswith(
        f"none from December to April, when there are at least {n_january} birds, Wigeon and Brent Goose in their "
        "best months"
    )
    assert birds == f"Birds: most kinds from April to September ({n_april} of 26), never fewer than {n_january}"


def test_words_fit_one_two_and_no_animals():
    one = on_the_wing([animal((5, 6), name="Early One")], 2023)
    assert month_words(one, 5) == "May: 1 dragonfly is on the wing"
    assert month_words(one, 7) == "July: no dragonfly is on the wing"
    assert year_words(one) == ("Dragonflies: most kinds in May and June (1 of 1); none from July to April",)
    guest = animal((11, 12, 1), Group.BIRD, "Guest")
    both = on_the_wing([animal((5, 6)), animal((6, 7, 8), name="Late One"), guest], 2023)
    assert month_words(both, 12) == ("December: no dragonfly is on the wing; 1 bird is, Guest for the winter alone")
    assert year_words(both) == (
        "Dragonflies: most kinds in June (2 of 2); none from September to April, Guest in its best months",
        "Birds: most kinds from November to January (1 of 1); none from February to October, made and Late One "
        "in their best months",
    )
    assert year_words(on_the_wing([animal(range(1, 13), Group.BIRD)], 2023)) == ("Birds: 1 of 1 kinds all year",)


def test_of_many_animals_a_few_are_named_and_a_dragonfly_of_the_south_is_no_winter_guest():
    guests = [animal((11, 12, 1, 2), Group.BIRD, f"Guest {n}") for n in range(6)]
    southern = animal((11, 12, 1, 2), Group.DAMSELFLY, "Southern One")
    told = month_words(on_the_wing([animal((6,)), southern, *guests], 2023), 12)
    assert told == (
        "December: no dragonfly is on the wing; 1 damselfly and 6 birds are, Guest 0, Guest 1, Guest 2, Guest 3 and "
        "2 more for the winter alone"
    )


def test_two_seasons_of_a_group_are_both_told():
    wing = on_the_wing([animal((3,)), animal((9, 10), name="Late One")], 2023)
    assert year_words(wing) == (
        "Dragonflies: most kinds in March and in September and October (1 of 2); none from April to August and "
        "from November to February",
    )


def test_what_the_months_do_not_tell_is_said():
    read = animal((5, 6), months_mark=Mark.READ)
    assert len(wing_doubts(on_the_wing([read], 2023))) == 1
    told = wing_doubts(on_the_wing([read, animal(range(1, 13), Group.BIRD, "b", months_mark=Mark.MEMORY)], 2023))
    assert told[1] == "The months of 1 of 2 kinds are from memory, not from a source that was read"
    assert told[2].startswith("1 of 2 kinds are about all year; ")


def test_every_month_of_the_catalogue_has_its_sentence():
    wing = on_the_wing(CATALOGUE.animals, 2026)
    assert [month_words(wing, month).split(":")[0] for month in range(1, 13)] == list(MONTH_NAMES)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (lambda: on_the_wing([], 2026), "no animal is given; give one at least"),
        (lambda: on_the_wing(CATALOGUE.animals, 0), "the year is 0; it must be 1 to 9999"),
        (lambda: month_words(on_the_wing(CATALOGUE.animals, 2026), 13), "the month is 13; it must be 1 to 12"),
    ],
)
def test_what_cannot_be_is_said_in_a_sentence(wrong, message):
    with pytest.raises(InputError, match=message):
        wrong()
