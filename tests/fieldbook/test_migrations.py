"""Books of older schemas open and keep what is in them. ``books/`` holds one per revision, as SQL text."""

import shutil
import sqlite3
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from stillwing.errors import FieldBookError
from stillwing.fieldbook import book as book_module
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import MIGRATIONS, open_book
from stillwing.fieldbook.boxes import drawn_boxes
from stillwing.fieldbook.clocks import outing_clock
from stillwing.fieldbook.conditions import conditions_of
from stillwing.fieldbook.frames import measured_frame
from stillwing.fieldbook.history import undo
from stillwing.fieldbook.kits import EXAMPLE_KIT, kit_named, kits, save_kit
from stillwing.fieldbook.looks import look_of
from stillwing.fieldbook.moments import moments, take_in
from stillwing.fieldbook.outings import counts, failures, outing_named
from stillwing.fieldbook.sidecars import last_positions, last_step
from stillwing.fieldbook.sightings import keep_sighting, sightings
from stillwing.fieldbook.sites import add_site, site_named, sites
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.fieldbook.tracks import positions_for_sidecars
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Box
from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.place.position import Position

from .invented import CUTOUT, SLIP, animal
from .write_stored_book import PHONE, stored_look, stored_moments, stored_sighting, stored_site

BOOKS = Path(__file__).parent / "books"
NEWEST = schema.SCHEMA_REVISION
NEXT = f"{int(NEWEST) + 1:04}"

NEXT_REVISION = """
import sqlalchemy as sa
from alembic import op

revision, down_revision, branch_labels, depends_on = "{next}", "{newest}", None, None


def upgrade() -> None:
    op.add_column("outing", sa.Column("weather", sa.Text()))
    op.execute("UPDATE outing SET weather = 'warm'")
    {then}
"""


def stored_book(revision: str, path: Path) -> Path:
    """Make the stored book of one revision at ``path``."""
    connection = sqlite3.connect(path)
    connection.executescript((BOOKS / f"revision_{revision}.sql").read_text())
    connection.close()
    return path


@pytest.fixture
def next_revision(tmp_path, monkeypatch):
    """Give a function that adds a revision to a copy of the migrations."""

    def add(then: str = "pass") -> None:
        copy = tmp_path / "100% migrations"
        shutil.copytree(MIGRATIONS, copy)
        script = NEXT_REVISION.format(next=NEXT, newest=NEWEST, then=then)
        (copy / "versions" / f"r{NEXT}_next.py").write_text(script)
        monkeypatch.setattr(book_module, "MIGRATIONS", copy)
        monkeypatch.setattr(book_module, "SCHEMA_REVISION", NEXT)

    return add


def test_every_older_revision_has_a_stored_book():
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    revisions = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    assert {f"revision_{revision}.sql" for revision in revisions} == {path.name for path in BOOKS.iterdir()}
    assert max(revisions, key=int) == schema.SCHEMA_REVISION


def test_migrated_tables_are_those_that_the_code_expects(book):
    with book.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), schema.metadata) == []


@pytest.mark.parametrize("revision", ["0001", "0002", "0003", "0004", "0005", "0006", "0007"])
def test_a_stored_book_reads_back_as_it_was_written(revision, tmp_path):
    with open_book(stored_book(revision, tmp_path / "book.sqlite")) as book:
        outing = outing_named(book, "reed bank")
        assert outing.sharp_for == "print 30 cm at 240 ppi"
        assert [str(one) for one in failures(book, outing.id)] == [
            "/pictures/reed bank/P00009.jpg: the file is empty",
        ]
        held = counts(book, outing.id)
        assert (held.n_bursts, held.n_frames, held.n_measured, held.n_found) == (1, 4, 4, 3)
        assert (held.n_by_hand, held.n_keep, held.n_spare, held.n_leave) == (1, 1, 1, 2)
        frames = trace(book, burst_summaries(book, outing.id)[0].id).frames
        assert [frame.choice for frame in frames] == [Choice.LEAVE, Choice.SPARE, Choice.KEEP, Choice.LEAVE]
        assert frames[2].by_hand is Choice.KEEP
        assert frames[0].reason == "soft: 2.1 px where 0.9 px would do"
        cutout = CUTOUT if int(revision) >= 7 else None
        both = animal(1.25, cutout=cutout), animal(None, x_px=2000.0, track=1, cutout=cutout)
        assert measured_frame(book, frames[1].id).animals == both
        assert drawn_boxes(book, outing.id) == {Path("/pictures/reed bank/P00003.jpg"): Box(10, 20, 300, 200)}
        assert last_step(book, outing.id)[0].before == b"<x/>"
        assert undo(book, outing.id)[0].box is None
        assert undo(book, outing.id)[0].choice is None


def test_a_stored_book_keeps_its_kits(tmp_path):
    with open_book(stored_book("0002", tmp_path / "book.sqlite")) as book:
        assert [kit.name for kit in kits(book)] == ["long lens", "Überall"]
        assert kit_named(book) == Kit(
            "long lens",
            CameraBody(17.4, 13.0, 5184, 3888, frames_per_s=18.0, look_back_s=0.5, readout_s=0.0125, well_e=25000.0),
            Lens(75.0, 300.0, 4.8, 6.7, closest_focus_m=1.3, largest_magnification=0.25),
            1.4,
        )


def test_a_book_from_before_the_kits_can_be_given_one(tmp_path):
    with open_book(stored_book("0001", tmp_path / "book.sqlite")) as book:
        assert kits(book) == ()
        save_kit(book, EXAMPLE_KIT)
        assert kits(book) == (EXAMPLE_KIT,)


def test_a_stored_book_keeps_its_sites(tmp_path):
    with open_book(stored_book("0003", tmp_path / "book.sqlite")) as book:
        assert sites(book) == (stored_site(),)


def test_a_book_from_before_the_sites_can_be_given_one(tmp_path):
    with open_book(stored_book("0002", tmp_path / "book.sqlite")) as book:
        assert sites(book) == ()
        add_site(book, stored_site())
        assert site_named(book) == stored_site()


def test_a_stored_book_keeps_its_moments_and_clocks(tmp_path):
    with open_book(stored_book("0004", tmp_path / "book.sqlite")) as book:
        assert set(moments(book, include_undone=True)) == set(stored_moments())
        with book.reading() as connection:
            clock = outing_clock(connection, outing_named(book, "reed bank").id)
        assert [(one.device, one.camera_minus_phone_s) for one in clock.offsets] == [(PHONE, 7200.5)]


def test_a_stored_book_keeps_where_bursts_were_taken(tmp_path):
    with open_book(stored_book("0004", tmp_path / "book.sqlite")) as book:
        placed = positions_for_sidecars(book, outing_named(book, "reed bank").id)
        assert len(placed) == 4
        assert {(one.position, one.track) for one in placed} == {(Position(0.125, 52.0), "walk.gpx")}


def test_a_stored_book_keeps_the_position_that_a_sidecar_was_given(tmp_path):
    with open_book(stored_book("0005", tmp_path / "book.sqlite")) as book:
        assert list(last_positions(book).values()) == ["52,0.0000N 0,7.5000E"]


def test_a_book_from_before_positions_in_sidecars_knows_of_none(tmp_path):
    with open_book(stored_book("0004", tmp_path / "book.sqlite")) as book:
        assert last_positions(book) == {}


def test_a_stored_book_keeps_its_sightings_and_what_was_said_of_an_animal(tmp_path):
    with open_book(stored_book("0006", tmp_path / "book.sqlite")) as book:
        outing = outing_named(book, "reed bank")
        burst = trace(book, burst_summaries(book, outing.id)[0].id)
        (kept,) = sightings(book)
        assert (kept.sighting, kept.outing_id, kept.bursts) == (stored_sighting(), outing.id, (burst.id,))
        assert look_of(book, burst.id) == stored_look(burst.frames[1].id)
        assert conditions_of(book, outing.id) == {None: {"support": "tripod"}}


def test_a_stored_book_keeps_how_the_camera_turned(tmp_path):
    with open_book(stored_book("0006", tmp_path / "book.sqlite")) as book:
        frames = trace(book, burst_summaries(book, 1)[0].id).frames
        assert {frame.slip for frame in frames} == {SLIP}
        assert measured_frame(book, frames[0].id).slip == SLIP


def test_a_book_from_before_the_slips_knows_of_none(tmp_path):
    with open_book(stored_book("0005", tmp_path / "book.sqlite")) as book:
        assert {frame.slip for frame in trace(book, burst_summaries(book, 1)[0].id).frames} == {None}


def test_a_book_from_before_the_sightings_can_be_given_one(tmp_path):
    with open_book(stored_book("0005", tmp_path / "book.sqlite")) as book:
        assert sightings(book) == ()
        keep_sighting(book, stored_sighting())
        assert [one.sighting for one in sightings(book)] == [stored_sighting()]


def test_a_book_from_before_the_moments_can_be_given_some(tmp_path):
    with open_book(stored_book("0003", tmp_path / "book.sqlite")) as book:
        assert moments(book) == ()
        take_in(book, stored_moments())
        assert moments(book) == stored_moments()[:1]


def test_an_older_book_is_migrated_and_keeps_what_is_in_it(next_revision, tmp_path):
    path = stored_book("0001", tmp_path / "book.sqlite")
    next_revision()
    for _ in range(2):
        with open_book(path) as book, book.reading() as connection:
            assert connection.exec_driver_sql("SELECT name, weather FROM outing").all() == [("reed bank", "warm")]
            assert connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar_one() == NEXT


def test_a_migration_that_fails_changes_nothing(next_revision, tmp_path):
    path = stored_book("0001", tmp_path / "book.sqlite")
    next_revision(then="raise RuntimeError('halfway')")
    with pytest.raises(RuntimeError, match="halfway"):
        open_book(path)
    connection = sqlite3.connect(path)
    assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)
    assert "weather" not in [row[1] for row in connection.execute("PRAGMA table_info(outing)")]
    connection.close()


def test_an_older_book_on_a_read_only_place_says_what_to_do(next_revision, small_disk, mount_read_only):
    path = stored_book("0001", small_disk / "book.sqlite")
    mount_read_only(small_disk)
    next_revision()
    with pytest.raises(FieldBookError, match="older stillwing and lies on a read-only place; copy it"):
        open_book(path)
