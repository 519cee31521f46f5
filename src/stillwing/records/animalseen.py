"""All that is known of the animal of one burst, put together for `identify`: measured, logged and said by a person.

Each part that is missing says why. The pictures are only read; what is measured on them is measured on one frame, the
one a person picked or the sharpest that was kept.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType

from stillwing.animals.catalogue import Group
from stillwing.errors import InputError, UnreadableFrame
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstlog import burst_logs
from stillwing.fieldbook.burstplace import BurstPlace, burst_place
from stillwing.fieldbook.frames import measured_frame
from stillwing.fieldbook.joining import JoinedBurst
from stillwing.fieldbook.looks import BodyEnds, Look
from stillwing.fieldbook.moment import MomentKind
from stillwing.fieldbook.pictureskit import kit_of_picture
from stillwing.fieldbook.sightings import sightings
from stillwing.fieldbook.traces import BurstTrace, TraceFrame
from stillwing.frames.bodycolours import BodyColours, NoColours, body_colours
from stillwing.frames.bodyinpicture import BodyInPicture, body_in_picture
from stillwing.frames.bodylength import BodyLength, Build, NoLength, SeenLength, body_length, marked_length
from stillwing.frames.chosen import Choice
from stillwing.frames.kittags import read_kit
from stillwing.frames.measured import MeasuredFrame
from stillwing.frames.picturescale import read_scale
from stillwing.optics.kit import Kit
from stillwing.optics.subject import Behaviour, Range
from stillwing.records.bodycolourwords import pack_colours
from stillwing.records.nearby import Nearby, area_at, nearby
from stillwing.records.region import Region, Sex
from stillwing.records.seen import LINE_WRONG, Answer, Seen, colour_names

__all__ = [
    "SIDE_ON_DEG",
    "SIDE_ON_WRONG",
    "TURNED_WRONG",
    "AnimalSeen",
    "MeasuredBody",
    "animal_seen",
    "frames_to_measure",
    "measured_body",
]

MARKED_PX = 3.0
"""How far off a person marks an end of the body, at least (a choice, no source)."""
MARKED_SHARE = 0.01
"""The same as a share of the body's length (a choice, no source)."""
SIDE_ON_DEG = 15.0
"""Tilt of a body out of the focal plane that still counts as side on (a choice, no source). [deg]"""
SIDE_ON_WRONG = 0.1
"""How often the tool's own line is of something else where a body is side on: on rendered ones the interval that is to
hold 90 in 100 held 90 to 100 (docs/bodylength.md), and drawn animals are not real ones (a choice, no source)."""
TURNED_WRONG = 0.5
"""The same where it may be turned anyhow: 44 to 58 of 100 lines of rendered bodies (docs/bodylength.md)."""
SURE_ENOUGH = 0.5
"""The log counts from this certainty on (a choice, no source)."""
DEEDS: Mapping[Behaviour, MomentKind] = MappingProxyType(
    {
        Behaviour.HOVER: MomentKind.HOVER,
        Behaviour.PASS: MomentKind.PASS,
        Behaviour.PERCH: MomentKind.PERCH,
        Behaviour.TAKE_OFF: MomentKind.TAKE_OFF,
        Behaviour.LANDING: MomentKind.LANDING,
    }
)


@dataclass(frozen=True, slots=True)
class MeasuredBody:
    """What one frame tells of the body."""

    frame_id: int
    seen: SeenLength | NoLength
    """The line of the body in the picture, as a person marked it or as the tool took it."""
    is_marked: bool
    length: BodyLength | NoLength
    colours: BodyColours | NoColours


@dataclass(frozen=True, slots=True)
class AnimalSeen:
    """What is known of the animal of one burst, and where it comes from."""

    seen: Seen
    taken_at: datetime | None
    place: BurstPlace | None
    logged: JoinedBurst | None
    nearby: Nearby | None
    """What earlier records tell of the place; ``None`` where the place is not known."""
    body: MeasuredBody | None
    """``None`` where no frame shows an animal that could be measured."""


def frames_to_measure(trace: BurstTrace) -> tuple[TraceFrame, ...]:
    """Return the frames of a burst that show an animal, the best to measure first: kept ones, the sharpest."""
    ranks = {Choice.KEEP: 0, Choice.SPARE: 1}
    shown = [frame for frame in trace.frames if frame.animals and not frame.from_preview]

    def worth(frame: TraceFrame) -> tuple[bool, int, float, int]:
        lead = frame.animals[0]
        blur_px = lead.blur.blur_px if lead.blur else float("inf")
        rank = 2 if frame.choice is None else ranks.get(frame.choice, 2)
        return lead.edge_clipped, rank, blur_px, frame.number

    return tuple(sorted(shown, key=worth))


def animal_seen(book: FieldBook, trace: BurstTrace, region: Region, look: Look) -> AnimalSeen:
    """Return what is known of the animal of a burst.

    Parameters
    ----------
    book : FieldBook
    trace : BurstTrace
        The burst.
    region : Region
        The list of species: its words for colours, areas and characters.
    look : Look
        What a person said. Answers to questions that the list does not ask are left out.
    """
    place = burst_place(book, trace.outing_id, trace.id)
    log = burst_logs(book, trace.outing_id, [trace.id]).get(trace.id)
    logged = log.joined if log is not None and log.joined.behaviour is not None else None
    known, area = (None, None) if place is None else _of_place(book, trace.id, region, place)
    frames = frames_to_measure(trace)
    frame_id = look.frame_id if look.frame_id in {frame.id for frame in frames} else None
    body = measured_body(book, frame_id or frames[0].id, look) if frames else None
    seen = Seen(
        on=_day(trace.taken_at),
        area=area,
        nearby=known,
        length_mm=_length_mm(body, look),
        length_wrong=_line_wrong(body, look),
        colours_wrong=_line_wrong(body, look),
        group=look.group,
        sex=Sex(look.sex),
        answers=_answers(region, look),
        colours=_colours(region, body, look),
        doing=_doing(logged),
    )
    return AnimalSeen(seen, trace.taken_at, place, logged, known, body)


def measured_body(book: FieldBook, frame_id: int, look: Look) -> MeasuredBody:
    """Return what one frame tells of the body of its best animal.

    Raises
    ------
    UnknownThing
        If the field book holds no such frame.
    """
    measured = measured_frame(book, frame_id)
    build = Build.BIRD if look.group is Group.BIRD else Build.ODONATE
    ends = look.ends if look.ends is not None and look.ends.frame_id == frame_id else None
    try:
        found = body_in_picture(measured.path, measured.animals[0], build)
        seen = found.seen if ends is None else _marked(ends)
        length = _length(book, measured, seen, look.most_tilt_deg)
        colours = _body_colours(measured, found, seen)
    except UnreadableFrame as error:
        unread = str(error)
        return MeasuredBody(frame_id, NoLength(unread), ends is not None, NoLength(unread), NoColours(unread))
    return MeasuredBody(frame_id, seen, ends is not None, length, colours)


def _marked(ends: BodyEnds) -> SeenLength | NoLength:
    (x0, y0), (x1, y1) = ends.head_px, ends.tail_px
    error_px = max(MARKED_PX, MARKED_SHARE * ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5)
    try:
        return marked_length(ends.head_px, ends.tail_px, error_px)
    except InputError as error:
        return NoLength(str(error))


def _length(
    book: FieldBook, measured: MeasuredFrame, seen: SeenLength | NoLength, most_tilt_deg: float | None
) -> BodyLength | NoLength:
    if isinstance(seen, NoLength):
        return seen
    blur = measured.animals[0].blur
    size_px = measured.width_px, measured.height_px
    scale = read_scale(measured.path, size_px, blur.blur_high_px if blur else None, _kit(book, measured))
    return scale if isinstance(scale, NoLength) else body_length(seen, scale, most_tilt_deg)


def _kit(book: FieldBook, measured: MeasuredFrame) -> Kit | None:
    written = read_kit(measured.path).focal_length_mm
    return kit_of_picture(book, (measured.width_px, measured.height_px), None if written is None else written.value)


def _of_place(book: FieldBook, burst_id: int, region: Region, place: BurstPlace) -> tuple[Nearby | None, str | None]:
    """Return what earlier records tell of a place, those of this burst left out, and the area it lies in."""
    latitude, longitude = place.position.latitude_deg, place.position.longitude_deg
    earlier = [kept.sighting for kept in sightings(book) if burst_id not in kept.bursts]
    try:
        known = nearby(region, earlier, latitude, longitude)
    except InputError:
        # No grid has squares there, as near the poles; then nothing is known of the place.
        known = None
    return known, area_at(region, latitude, longitude)


def _body_colours(
    measured: MeasuredFrame, found: BodyInPicture, seen: SeenLength | NoLength
) -> BodyColours | NoColours:
    if isinstance(seen, NoLength):
        return NoColours("without the line of the body its colours cannot be told from those of the wings")
    return body_colours(measured.path, found.outline, seen, found.size_px)


def _colours(region: Region, body: MeasuredBody | None, look: Look) -> Mapping[str, float]:
    if body is None or not look.counts_colours or not colour_names(region) or isinstance(body.colours, NoColours):
        return {}
    return pack_colours(region, body.colours)


def _length_mm(body: MeasuredBody | None, look: Look) -> Range | None:
    if body is None or not look.counts_length or isinstance(body.length, NoLength):
        return None
    return body.length.length_mm


def _line_wrong(body: MeasuredBody | None, look: Look) -> float:
    """Return the chance that the line is of something else: a person who marked or confirmed its ends saw to that."""
    if body is None or body.is_marked:
        return LINE_WRONG
    is_side_on = look.most_tilt_deg is not None and look.most_tilt_deg <= SIDE_ON_DEG
    return SIDE_ON_WRONG if is_side_on else TURNED_WRONG


def _answers(region: Region, look: Look) -> tuple[Answer, ...]:
    asked = {character.key: set(character.states) for character in region.characters}
    return tuple(
        Answer(character, states) for character, states in look.answers if set(states) <= asked.get(character, set())
    )


def _doing(logged: JoinedBurst | None) -> frozenset[MomentKind]:
    if logged is None or logged.behaviour is None or logged.certainty < SURE_ENOUGH:
        return frozenset()
    return frozenset({DEEDS[logged.behaviour]})


def _day(taken_at: datetime | None) -> date | None:
    return None if taken_at is None else taken_at.date()
