"""What the forms of the Sites page change of a site that is kept."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from starlette.datastructures import FormData

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.sites import KeptSite
from stillwing.place.site import Site, with_proposed_stands, without_stands
from stillwing.web.settings_form import FieldError
from stillwing.web.sites_form import HORIZON_COLUMNS, horizon_from, perch_from, site_from, spacing_from, stand_from

__all__ = ["CHANGES", "Part", "Row", "sent_rows", "words_of"]

Row = tuple[str, str, str, str]
"""Of the horizon's table: bearing, degrees, distance and height as typed."""


@dataclass(frozen=True, slots=True)
class Part:
    """A form that changes the open site: where it stands on the page, and what it does."""

    name: str
    change: Callable[[KeptSite, FormData], KeptSite]


def words_of(sent: FormData) -> dict[str, str]:
    """Return the fields of a form without its files; of one that comes twice, the last."""
    return {name: value for name, value in sent.items() if isinstance(value, str)}


def sent_rows(sent: FormData) -> tuple[Row, ...]:
    """Return the rows of the horizon's table as a form sent them, without empty ones; raises `InputError`."""
    columns = [[str(value) for value in sent.getlist(name)] for name in HORIZON_COLUMNS]
    if len({len(column) for column in columns}) > 1:
        raise InputError(f"the table of the horizon lacks cells; each row has {', '.join(HORIZON_COLUMNS)}")
    rows = zip(*columns, strict=True)
    return tuple((a, b, c, d) for a, b, c, d in rows if any(cell.strip() for cell in (a, b, c, d)))


def _about(kept: KeptSite, sent: FormData) -> KeptSite:
    words = words_of(sent)
    return site_from(kept.site, words.get("name", ""), words.get("zone", ""), words.get("elevation_m", ""))


def _propose(kept: KeptSite, sent: FormData) -> KeptSite:
    return replace(kept, site=with_proposed_stands(kept.site, spacing_from(words_of(sent).get("spacing_m", ""))))


def _prune(kept: KeptSite, sent: FormData) -> KeptSite:
    names = frozenset(str(name) for name in sent.getlist("stand"))
    if not names:
        raise FieldError("stand", "no stand is ticked; tick those that you want to be rid of")
    return replace(kept, site=without_stands(kept.site, names))


def _add_stand(kept: KeptSite, sent: FormData) -> KeptSite:
    words = words_of(sent)
    made = stand_from(kept.site, words.get("name", ""), words.get("where", ""), words.get("above_water_m", ""))
    return _with(kept, lambda site: replace(site, stands=(*site.stands, made)))


def _add_perch(kept: KeptSite, sent: FormData) -> KeptSite:
    words = words_of(sent)
    made = perch_from(words.get("name", ""), words.get("where", ""), words.get("above_water_m", ""))
    return _with(kept, lambda site: replace(site, perches=(*site.perches, made)))


def _drop_perch(kept: KeptSite, sent: FormData) -> KeptSite:
    name = str(sent.get("perch", ""))
    if name not in {perch.name for perch in kept.site.perches}:
        raise UnknownThing(f"{kept.site.name} has no perch {name!r}")
    return _with(kept, lambda site: replace(site, perches=tuple(one for one in site.perches if one.name != name)))


def _change_horizon(kept: KeptSite, sent: FormData) -> KeptSite:
    horizon = horizon_from(sent_rows(sent))
    return _with(kept, lambda site: replace(site, horizon=horizon))


CHANGES: Mapping[str, Part] = {
    "about": Part("about", _about),
    "propose": Part("stands", _propose),
    "prune": Part("stands", _prune),
    "stand": Part("stand", _add_stand),
    "perch": Part("perches", _add_perch),
    "no-perch": Part("perches", _drop_perch),
    "horizon": Part("horizon", _change_horizon),
}
"""What can be changed, by the end of its address."""


def _with(kept: KeptSite, change: Callable[[Site], Site]) -> KeptSite:
    return replace(kept, site=change(kept.site))
