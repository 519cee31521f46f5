"""Write the stored book of the newest revision into ``books/``. Run once when a revision is added, never again.

python -m fieldbook.write_stored_book        (from the tests folder)
"""

import sqlite3
import tempfile
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import UUID

from stillwing.animals.catalogue import Group
from stillwing.errors import UnreadableFrame
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.boxes import draw_box
from stillwing.fieldbook.choices import choose, store_proposals
from stillwing.fieldbook.clocks import set_offset_by_hand
from stillwing.fieldbook.conditions import type_condition
from stillwing.fieldbook.frames import store_chunk
from stillwing.fieldbook.kits import save_kit
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.looks import BodyEnds, Look, keep_look
from stillwing.fieldbook.moments import Moment, MomentKind, take_in
from stillwing.fieldbook.outings import open_outing
from stillwing.fieldbook.schema import APPLICATION_ID, SCHEMA_REVISION
from stillwing.fieldbook.sidecars import SidecarWrite, enter_sidecars
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import keep_sighting
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Basis, Doing, Establishment, LifeStage, SightedSex, Verification
from stillwing.fieldbook.sites import KeptSite, add_site
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.fieldbook.tracks import take_track
from stillwing.frames.chosen import Choice, Proposal
from stillwing.frames.frame import Burst
from stillwing.frames.measured import Box
from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.place.horizon import Horizon, HorizonEntry
from stillwing.place.outline import Outline, Water
from stillwing.place.position import Position
from stillwing.place.site import Perch, Site
from stillwing.place.stands import Span, Stand

from .invented import START, animal, burst_of, measured

FOLDER = Path("/pictures/reed bank")
PHONE = "0b7c6a3e-5d1f-4c57-9a55-2f8e1c0d4b6a"


def write_stored_book(path: Path) -> None:
    """Store a small outing with something in every table, and write it as SQL text."""
    with tempfile.TemporaryDirectory() as folder, open_book(Path(folder) / "book.sqlite") as book:
        outing = open_outing(book, "reed bank", FOLDER)
        written = burst_of(Path(folder) / "pictures", 4)
        frames = tuple(
            replace(frame, files=(FOLDER / frame.path.name, FOLDER / f"{frame.path.stem}.raw"))
            for frame in written.frames
        )
        failed = [UnreadableFrame(FOLDER / "P00009.jpg", "the file is empty")]
        store_listing(book, outing.id, FOLDER, [Burst(written.name, frames)], failed)
        animals = [(animal(2.125),), (animal(1.25), animal(None, x_px=2000.0, track=1)), (animal(0.875),), ()]
        chunk = [measured(frame, *found) for frame, found in zip(frames, animals, strict=True)]
        store_chunk(book, outing.id, chunk, code_version="1")
        proposals = [
            Proposal(frames[0].path, Choice.LEAVE, "soft: 2.1 px where 0.9 px would do", 1400.0),
            Proposal(frames[1].path, Choice.SPARE, "second sharpest of 4", 2800.0),
            Proposal(frames[2].path, Choice.SPARE, "sharpest of 4", 3600.0),
            Proposal(frames[3].path, Choice.LEAVE, "nothing found"),
        ]
        store_proposals(book, outing.id, proposals, sharp_for="print 30 cm at 240 ppi")
        ids = [frame.id for frame in trace(book, burst_summaries(book, outing.id)[0].id).frames]
        choose(book, outing.id, [ids[2]], Choice.KEEP)
        draw_box(book, outing.id, ids[3], Box(10, 20, 300, 200))
        sidecar = FOLDER / "P00002.xmp"
        write = SidecarWrite(
            step=1, path=sidecar, before=b"<x/>", after_sha256="0" * 64, rating="4", position="52,0.0000N 0,7.5000E"
        )
        enter_sidecars(book, outing.id, [write])
        save_kit(book, Kit("Überall", CameraBody(36.0, 24.0, 6000, 4000), Lens(50.0, 50.0, 1.8, 1.8)))
        camera = CameraBody(
            17.4, 13.0, 5184, 3888, frames_per_s=18.0, look_back_s=0.5, readout_s=0.0125, well_e=25000.0
        )
        lens = Lens(75.0, 300.0, 4.8, 6.7, closest_focus_m=1.3, largest_magnification=0.25)
        save_kit(book, Kit("long lens", camera, lens, 1.4))
        add_site(book, stored_site())
        take_in(book, stored_moments())
        set_offset_by_hand(book, outing.id, PHONE, 7200.5)
        take_track(book, outing.id, stored_track(Path(folder)))
        burst_id = burst_summaries(book, outing.id)[0].id
        keep_sighting(book, stored_sighting(), outing_id=outing.id, bursts=[burst_id])
        keep_look(book, burst_id, stored_look(ids[1]))
        type_condition(book, outing.id, "support", "tripod")
        connection = sqlite3.connect(book.path)
        lines = [f"PRAGMA application_id = {APPLICATION_ID};", *connection.iterdump()]
        connection.close()
    path.write_text("\n".join(lines) + "\n")


def stored_site() -> KeptSite:
    """Return a square water with everything that a site can have."""
    corners = [(0.1, 52.0), (0.101, 52.0), (0.101, 52.001), (0.1, 52.001)]
    rim = tuple(Position(longitude, latitude) for longitude, latitude in corners)
    stand = Stand("dead willow", Position(0.1005, 51.9999), 0.0, (Span(300.0, 60.0),), 0.4)
    return KeptSite(
        Site(
            "Weiher",
            Outline((Water(rim),)),
            (stand,),
            Horizon((HorizonEntry(90.0, 12.5, 80.0), HorizonEntry(270.0, 3.0))),
            (Perch("reed", Position(0.1002, 52.0001), 0.3),),
        ),
        "Europe/Berlin",
        35.0,
    )


def stored_moments() -> tuple[Moment, ...]:
    """Return a hover with everything that a moment can have, and a pass that was taken back."""
    at = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
    hover = Moment(
        id="6fa459ea-ee8a-4ca4-894e-db77e160355e",
        kind=MomentKind.HOVER,
        at=at,
        device=PHONE,
        changed_at=at + timedelta(milliseconds=4321),
        animal="emperor",
        site="Weiher",
        stand="dead willow",
        perch="reed",
        note="against the wind\nwarm: 24 °C",
        until=at + timedelta(milliseconds=4250),
    )
    passing = replace(
        hover,
        id="16fd2706-8baf-433b-82eb-8c7fada847da",
        kind=MomentKind.PASS,
        perch="",
        note="",
        until=None,
        undone=True,
    )
    return hover, passing


def stored_sighting() -> Sighting:
    """Return a pair in tandem with everything that a sighting can have."""
    return Sighting(
        "Coenagrion puella",
        When(date(2026, 6, 1), date(2026, 6, 2)),
        Where(52.0005, 0.1005, 12.5, 0.0001, "Weiher"),
        UUID("3f2504e0-4f89-41d3-9a0c-0305e82c3301"),
        name_as_written="blue damselfly",
        qualifier="cf. puella",
        count=2,
        sexes=(SightedSex.MALE, SightedSex.FEMALE),
        stage=LifeStage.ADULT,
        doing=(Doing.TANDEM, Doing.EGG_LAYING),
        pictures=("P00001.jpg",),
        recorded_by=("A. Nother", "B. Else"),
        identified_by=("C. Known",),
        verification=Verification.VERIFIED,
        licence="https://creativecommons.org/publicdomain/zero/1.0/",
        basis=Basis.PERSON,
        establishment=Establishment.NATIVE,
        remarks="at the reed, 24 °C",
        sensitive=True,
        generalized="told as a square",
        withheld="the exact place",
        others=(("fieldNumber", "7"), ("habitat", "pond")),
    )


def stored_look(frame_id: int) -> Look:
    """Return a look with everything that can be said."""
    ends = BodyEnds(frame_id, (100.5, 200.25), (400.0, 220.0))
    answers = (("abdomen_colour", ("blue", "black")), ("wings_at_rest", ("closed",)))
    return Look("britain-and-ireland", Group.DAMSELFLY, "male", answers, frame_id, ends, 15.0, False, True)


def stored_track(folder: Path) -> Path:
    """Write a track that stood still at the time of the burst by the phone's clock, and return its file."""
    at = (START - timedelta(seconds=7200.5)).isoformat(timespec="milliseconds").replace("+00:00", "Z")
    path = folder / "walk.gpx"
    path.write_text(
        '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
        f'<trkpt lat="52.0" lon="0.125"><time>{at}</time></trkpt></trkseg></trk></gpx>'
    )
    return path


if __name__ == "__main__":
    write_stored_book(Path(__file__).parent / "books" / f"revision_{SCHEMA_REVISION}.sql")
