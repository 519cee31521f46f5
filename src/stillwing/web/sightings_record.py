"""What the page of one sighting shows: its form, how name and place were understood, its pictures and versions."""

from collections.abc import Mapping
from dataclasses import dataclass

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.outings import outing
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import sightings_of_bursts
from stillwing.fieldbook.sightingsteps import SightingVersion, last_step, sighting_versions
from stillwing.fieldbook.sightingwords import Basis, Doing, Establishment, LifeStage, SightedSex, Verification
from stillwing.fieldbook.traces import traces
from stillwing.records.filedwords import animals_words, changed_parts, place_words, when_words
from stillwing.records.filing import KnownNames, is_scientific
from stillwing.records.typedplace import read_place
from stillwing.web.sightings_address import sighting_href
from stillwing.web.sightings_draft import Draft
from stillwing.web.sightings_evidence import Evidence, Linked
from stillwing.web.sightings_fields import AS_TOLD, TypedSighting
from stillwing.web.sightings_lines import StepView, moment_words, step_view, sure_words

__all__ = ["FormWords", "PictureTick", "RecordPage", "Understood", "VersionLine", "record_page"]

BASES = ((Basis.PERSON.value, "a person"), (Basis.MACHINE.value, "a camera left alone"))
SENSITIVE = (
    (AS_TOLD, "as the lists of species tell it: yes where it is protected or rare there"),
    ("yes", "yes: the exact place stays in this field book"),
    ("no", "no: the exact place may be given away"),
)


@dataclass(frozen=True, slots=True)
class FormWords:
    """The words that can be picked; in pairs where what is sent is told in other words."""

    sexes: tuple[str, ...] = tuple(SightedSex)
    doing: tuple[str, ...] = tuple(Doing)
    stages: tuple[tuple[str, str], ...] = tuple((one, one) for one in LifeStage)
    verifications: tuple[tuple[str, str], ...] = tuple((one, one) for one in Verification)
    establishments: tuple[tuple[str, str], ...] = tuple((one, one) for one in Establishment)
    bases: tuple[tuple[str, str], ...] = BASES
    sensitive: tuple[tuple[str, str], ...] = SENSITIVE


@dataclass(frozen=True, slots=True)
class Understood:
    """How what stands in the fields is understood; empty where it is not, or where there is nothing to say."""

    name: str
    place: str
    why_sensitive: str


@dataclass(frozen=True, slots=True)
class PictureTick:
    """A picture that may be evidence."""

    name: str
    source: str
    width: int
    """CSS px, as ``height``."""
    height: int
    is_kept: bool
    is_offered: bool
    """Whether it stands in view: it is ticked or to keep, or there is nothing else to show."""


@dataclass(frozen=True, slots=True)
class VersionLine:
    """One version of a record."""

    made_at: str
    what: str
    """What was done then."""
    stood: str
    """The record as it then stood, in one line; empty where it was withdrawn."""
    is_undone: bool


@dataclass(frozen=True, slots=True)
class RecordPage:
    """The form of one sighting, new or kept."""

    title: str
    is_new: bool
    action: str
    id: str
    typed: TypedSighting
    wrong: Mapping[str, str]
    told: tuple[str, ...]
    understood: Understood
    words: FormWords
    names: tuple[tuple[str, str], ...]
    """Known ones: what is typed, and what it stands for."""
    pictures: tuple[PictureTick, ...]
    n_more_pictures: int
    """Those of them that are folded away."""
    outing: str
    outing_href: str
    bursts: tuple[Linked, ...]
    filed: tuple[Linked, ...]
    """Other sightings that these bursts show."""
    facts: tuple[tuple[str, str], ...]
    """What the record tells besides, which the form does not change."""
    versions: tuple[VersionLine, ...]
    step: StepView | None
    """The last step, where it is the last of this sighting too."""
    troubles: tuple[str, ...]

    @property
    def status(self) -> int:
        """The HTTP status: 422 where a field cannot be used."""
        return InputError.http_status if self.wrong else 200


def record_page(
    book: FieldBook,
    draft: Draft,
    names: KnownNames,
    action: str,
    typed: TypedSighting | None = None,
    wrong: Mapping[str, str] | None = None,
) -> RecordPage:
    """Return the page.

    Parameters
    ----------
    book : FieldBook
    draft : Draft
        What the form starts from.
    names : KnownNames
    action : str
        Where the form is sent to.
    typed : TypedSighting, optional
        What stands in the fields, where it is other than what the form started with.
    wrong : mapping of str to str, optional
        Sentences on fields that cannot be used, by the field's name.
    """
    base, stands = draft.base, typed or draft.shown
    versions = sighting_versions(book, base.id)
    bursts, pictures = traces(book, draft.bursts) if draft.bursts else (), _pictures(draft, stands)
    return RecordPage(
        _title(base, names) if versions else "New sighting",
        not versions,
        action,
        str(base.id),
        stands,
        wrong or {},
        draft.told,
        _understood(stands, draft, names, wrong or {}),
        FormWords(),
        tuple(sorted(_offered(names))),
        pictures,
        sum(not one.is_offered for one in pictures),
        "" if draft.outing_id is None else outing(book, draft.outing_id).name,
        "" if draft.outing_id is None else f"/outings/{draft.outing_id}",
        tuple(Linked(one.name, f"/outings/{one.outing_id}/bursts/{one.id}") for one in bursts),
        _filed(book, draft, names),
        _facts(base),
        _version_lines(versions, names),
        _own_step(book, versions, names),
        names.troubles,
    )


def _own_step(book: FieldBook, versions: tuple[SightingVersion, ...], names: KnownNames) -> StepView | None:
    step = last_step(book)
    if step is None or step.made_at not in {one.made_at for one in versions if not one.is_undone}:
        return None
    return step_view(step, names)


def _title(sighting: Sighting, names: KnownNames) -> str:
    name = names.english(sighting.scientific_name) or sighting.scientific_name
    return f"{name}, {when_words(sighting.when)}"


def _offered(names: KnownNames) -> tuple[tuple[str, str], ...]:
    return tuple((one.name or one.scientific_name, one.scientific_name) for one in names.species.values())


def _understood(typed: TypedSighting, draft: Draft, names: KnownNames, wrong: Mapping[str, str]) -> Understood:
    name = "" if "name" in wrong else _scientific(typed.name, names)
    place, where = _place(typed, draft)
    why = names.why_sensitive(name, where) if name else None
    return Understood(_name_words(name, names), place, why or "")


def _scientific(typed: str, names: KnownNames) -> str:
    try:
        return names.scientific(typed)
    except InputError:
        return ""


def _name_words(name: str, names: KnownNames) -> str:
    if name in names.species:
        return f"{names.english(name)}, {name}"
    known = f"no list of species knows {name}; it stands as the scientific name"
    return known if is_scientific(name) else ""


def _place(typed: TypedSighting, draft: Draft) -> tuple[str, Where]:
    """Return how the place was understood, and the place; the one that the form began with where it is not."""
    if not typed.where:
        return "", Where(name="-")
    try:
        place = read_place(typed.where)
    except InputError:
        return "", draft.base.where
    return place.told, Where(place.latitude, place.longitude)


def _pictures(draft: Draft, typed: TypedSighting) -> tuple[PictureTick, ...]:
    """Return what can be ticked: the frames of the bursts, and what the record lists besides."""
    held = {one.name for one in draft.frames}
    listed = dict.fromkeys((*draft.base.pictures, *typed.pictures))
    shown = (*draft.frames, *(Evidence(name) for name in listed if name not in held))
    is_any = any(one.is_kept or one.name in listed for one in shown)
    return tuple(
        PictureTick(
            one.name,
            one.source,
            one.width,
            one.height,
            one.is_kept,
            not is_any or one.is_kept or one.name in listed,
        )
        for one in shown
    )


def _filed(book: FieldBook, draft: Draft, names: KnownNames) -> tuple[Linked, ...]:
    shown = {
        kept.sighting.id: kept.sighting
        for those in sightings_of_bursts(book, draft.bursts).values()
        for kept in those
        if kept.sighting.id != draft.base.id
    }
    return tuple(Linked(_title(one, names), sighting_href(one.id)) for one in shown.values())


def _facts(sighting: Sighting) -> tuple[tuple[str, str], ...]:
    told = (("made coarser", sighting.generalized), ("left out", sighting.withheld), *sighting.others)
    return tuple((name, text) for name, text in told if text)


def _version_lines(versions: tuple[SightingVersion, ...], names: KnownNames) -> tuple[VersionLine, ...]:
    """Return the versions, the newest first."""
    lines = []
    before: Sighting | None = None
    for number, one in enumerate(versions):
        lines.append(
            VersionLine(
                moment_words(one.made_at),
                _what(before, one.sighting, is_first=number == 0),
                "" if one.sighting is None else _stood(one.sighting, names),
                one.is_undone,
            )
        )
        if not one.is_undone:
            before = one.sighting
    return tuple(reversed(lines))


def _what(before: Sighting | None, now: Sighting | None, *, is_first: bool) -> str:
    if now is None:
        return "withdrawn"
    if before is None:
        return "first kept" if is_first else "kept again"
    return f"changed: {', '.join(changed_parts(before, now)) or 'what it was seen on'}"


def _stood(sighting: Sighting, names: KnownNames) -> str:
    parts = (
        _title(sighting, names),
        animals_words(sighting),
        place_words(sighting.where),
        sure_words(sighting),
        sighting.remarks,
    )
    return "; ".join(part for part in parts if part)
