"""What the forms change of a site, and what they leave alone."""

import pytest
from starlette.datastructures import FormData

from stillwing.errors import InputError
from stillwing.fieldbook.sites import KeptSite
from stillwing.web.sites_changes import CHANGES, sent_rows, words_of
from stillwing.web.sites_form import kept_from, typed_site

from .ponds import drawn_pond


@pytest.fixture(scope="module")
def pond() -> KeptSite:
    return kept_from(typed_site(drawn_pond()))


SENT = {
    "about": [("name", "other pond"), ("zone", "UTC"), ("elevation_m", "3")],
    "propose": [("spacing_m", "5")],
    "prune": [("stand", "north bank 1")],
    "stand": [("name", "gate"), ("where", "53.0003, -0.5"), ("above_water_m", "")],
    "perch": [("name", "post"), ("where", "53.0001, -0.5"), ("above_water_m", "")],
    "horizon": [("bearing_deg", "225"), ("altitude_deg", "15"), ("distance_m", ""), ("height_m", "")],
}
TOUCHES = {
    "about": {"name", "zone", "elevation_m"},
    "propose": {"stands"},
    "prune": {"stands"},
    "stand": {"stands"},
    "perch": {"perches"},
    "horizon": {"horizon"},
}


def form(pairs: list[tuple[str, str]]) -> FormData:
    """Return a form as it comes in, whose values may be files too."""
    return FormData([*pairs])


def parts(kept: KeptSite) -> dict[str, object]:
    site = kept.site
    return {
        "name": site.name, "outline": site.outline, "stands": site.stands, "horizon": site.horizon,
        "perches": site.perches, "zone": kept.zone, "elevation_m": kept.elevation_m,
    }  # fmt: skip


@pytest.mark.parametrize("name", SENT)
def test_a_form_changes_its_own_part_alone(pond: KeptSite, name: str) -> None:
    before, after = parts(pond), parts(CHANGES[name].change(pond, form(SENT[name])))
    assert {part for part in before if before[part] != after[part]} == TOUCHES[name]


@pytest.mark.parametrize("name", CHANGES)
def test_an_empty_form_changes_nothing_by_chance(pond: KeptSite, name: str) -> None:
    try:
        after = CHANGES[name].change(pond, form([]))
    except InputError as error:
        assert not str(error).endswith(".")
    else:
        # Stands proposed at the usual distance, and a horizon without rows, are what the site has.
        assert after == pond


def test_rows_that_are_empty_are_passed_over_and_torn_ones_refused() -> None:
    columns = [("bearing_deg", "1"), ("bearing_deg", ""), ("altitude_deg", "2"), ("altitude_deg", " ")]
    rest = [(name, "") for name in ("distance_m", "height_m") for _ in range(2)]
    assert sent_rows(form(columns + rest)) == (("1", "2", "", ""),)
    with pytest.raises(InputError, match="the table of the horizon lacks cells"):
        sent_rows(form(columns))


def test_words_leave_files_out() -> None:
    assert words_of(form([("a", "1"), ("b", "2"), ("a", "3")])) == {"a": "3", "b": "2"}
