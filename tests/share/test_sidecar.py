import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

import exiv2
import pytest

from stillwing.errors import FieldBookError, InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sidecars import SidecarWrite, enter_sidecars, last_step
from stillwing.fieldbook.tracks import drop_positions, take_track
from stillwing.frames.chosen import Choice
from stillwing.share import sidecar
from stillwing.share.packet import marks_in
from stillwing.share.sidecar import undo_sidecars, write_sidecars

from . import packets
from .conftest import BLURS_PX, fill_up, hold


def sidecars(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir()) if path.suffix.lower() == ".xmp"}


def sums(folder: Path) -> dict[str, str]:
    """Return the checksum of everything in a folder that is no sidecar."""
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.iterdir()
        if path.suffix.lower() != ".xmp"
    }


def ratings(folder: Path) -> dict[str, str | None]:
    return {name: marks_in(packet).rating for name, packet in sidecars(folder).items()}


class TestWriting:
    def test_each_choice_has_its_rating_keyword_and_reason(self, held):
        before = sums(held.folder)
        run = write_sidecars(held.book, held.id)
        assert ratings(held.folder) == {"A0001.xmp": "4", "A0002.xmp": "4", "A0004.xmp": "2"}
        marks = marks_in(sidecars(held.folder)["A0004.xmp"])
        assert marks.keywords == ("stillwing spare",)
        assert marks.description == "stillwing: 4. sharpest of 4, whole animal in frame"
        assert [(one.path.name, one.is_new) for one in run.written] == [(name, True) for name in sidecars(held.folder)]
        assert sums(held.folder) == before

    def test_a_second_time_nothing_is_left_to_write(self, held):
        write_sidecars(held.book, held.id)
        times = {path: path.stat().st_mtime_ns for path in held.folder.iterdir()}
        run = write_sidecars(held.book, held.id)
        assert (len(run.written), len(run.unchanged)) == (0, 3)
        assert {path: path.stat().st_mtime_ns for path in held.folder.iterdir()} == times

    def test_the_persons_choice_is_what_is_written(self, held):
        held.choose(0, Choice.LEAVE)
        held.choose(2, Choice.KEEP)
        write_sidecars(held.book, held.id)
        assert ratings(held.folder) == {"A0002.xmp": "4", "A0003.xmp": "4", "A0004.xmp": "2"}
        assert marks_in(sidecars(held.folder)["A0003.xmp"]).description == (
            "stillwing: chosen by hand; proposed to leave: 3. sharpest of 4, whole animal in frame"
        )

    def test_a_choice_that_changes_takes_our_marks_with_it(self, held):
        write_sidecars(held.book, held.id)
        held.choose(0, Choice.LEAVE)
        held.choose(1, Choice.SPARE)
        write_sidecars(held.book, held.id)
        assert ratings(held.folder) == {"A0001.xmp": None, "A0002.xmp": "2", "A0004.xmp": "2"}
        assert marks_in(sidecars(held.folder)["A0002.xmp"]).keywords == ("stillwing spare",)
        assert b"stillwing" not in sidecars(held.folder)["A0001.xmp"]

    def test_keywords_are_added_to_what_is_kept(self, held):
        write_sidecars(held.book, held.id, keywords=["pond", " reeds & rushes "])
        assert b"<rdf:li>pond</rdf:li><rdf:li>reeds &amp; rushes</rdf:li>" in sidecars(held.folder)["A0001.xmp"]
        assert "A0003.xmp" not in sidecars(held.folder)

    @pytest.mark.parametrize("keyword", ["", "  ", "a\0b", "stillwing keep"])
    def test_a_keyword_that_cannot_be_is_refused_before_anything_is_written(self, held, keyword):
        with pytest.raises(InputError, match="the keyword"):
            write_sidecars(held.book, held.id, keywords=["pond", keyword])
        assert sidecars(held.folder) == {}

    def test_a_dry_run_tells_the_texts_and_writes_nothing(self, held):
        (held.folder / "A0001.xmp").write_text(packets.RICH)
        before = sidecars(held.folder)
        run = write_sidecars(held.book, held.id, dry_run=True)
        assert sidecars(held.folder) == before
        assert last_step(held.book, held.id) == ()
        told = {one.path.name: one.text for one in run.written}
        write_sidecars(held.book, held.id)
        assert told == {name: packet.decode() for name, packet in sidecars(held.folder).items()}

    def test_a_dry_run_tells_the_text_of_any_encoding(self, held):
        (held.folder / "A0001.xmp").write_bytes(packets.NO_WRAPPER.encode("utf-16"))
        told = write_sidecars(held.book, held.id, dry_run=True).written[0].text
        assert "<xmp:Rating>4</xmp:Rating>" in told

    def test_a_read_only_book_can_say_what_it_would_write_and_no_more(self, held, small_disk):
        held.book.close()
        shutil.copy(held.book.path, small_disk / "book.sqlite")
        subprocess.run(["mount", "-o", "remount,ro", small_disk], check=True)
        with open_book(small_disk / "book.sqlite") as book:
            assert len(write_sidecars(book, held.id, dry_run=True).written) == 3
            with pytest.raises(FieldBookError, match="read-only place"):
                write_sidecars(book, held.id)
        assert sidecars(held.folder) == {}


class TestOthers:
    """What other programs and the person put into a sidecar."""

    def test_a_rating_of_somebody_else_is_kept_and_told(self, held):
        (held.folder / "A0001.xmp").write_text(packets.RICH)
        run = write_sidecars(held.book, held.id)
        assert ratings(held.folder)["A0001.xmp"] == "3"
        assert [one.kept_rating for one in run.written if one.path.name == "A0001.xmp"] == ["3"]
        write_sidecars(held.book, held.id, overrule_ratings=True)
        assert ratings(held.folder)["A0001.xmp"] == "4"

    def test_a_rating_changed_after_us_is_somebody_elses(self, held):
        write_sidecars(held.book, held.id)
        path = held.folder / "A0001.xmp"
        path.write_bytes(path.read_bytes().replace(b"<xmp:Rating>4<", b"<xmp:Rating>1<"))
        held.propose(Choice.SPARE, Choice.KEEP, Choice.LEAVE, Choice.LEAVE)
        write_sidecars(held.book, held.id)
        assert ratings(held.folder) == {"A0001.xmp": "1", "A0002.xmp": "4", "A0004.xmp": None}

    def test_whatever_a_sidecar_of_a_frame_to_leave_holds_stays(self, held):
        (held.folder / "A0003.xmp").write_text(packets.RICH)
        write_sidecars(held.book, held.id, overrule_ratings=False)
        assert sidecars(held.folder)["A0003.xmp"].decode() == packets.RICH

    def test_a_program_that_writes_at_the_same_moment_is_not_overwritten(self, held, monkeypatch):
        enter = sidecar.enter_sidecars

        def enter_while_another_writes(book, outing_id, writes):
            for write in writes:
                write.path.write_text(packets.RICH)
            return enter(book, outing_id, writes)

        monkeypatch.setattr(sidecar, "enter_sidecars", enter_while_another_writes)
        run = write_sidecars(held.book, held.id)
        assert str(run.failed[0]).endswith("another program wrote it at the same time; run this again")
        assert set(sidecars(held.folder).values()) == {packets.RICH.encode()}
        assert last_step(held.book, held.id) == ()


class TestPositions:
    """Where the photographs were taken, on request."""

    @pytest.fixture
    def walk(self, held, tmp_path):
        """Give a function that takes a track which stood still at a place."""
        return lambda *place: self.take(held, tmp_path / "walk.gpx", *place)

    def take(self, held, file, longitude_deg, latitude_deg):
        file.write_text(
            '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
            f'<trkpt lat="{latitude_deg}" lon="{longitude_deg}"><time>2024-07-14T10:30:00Z</time></trkpt>'
            "</trkseg></trk></gpx>"
        )
        # The drawn camera's clock runs in UTC.
        take_track(held.book, held.id, file, camera_minus_utc_s=0.0)

    def positions(self, folder):
        """Return latitude and longitude of each sidecar as libexiv2's XMP toolkit reads them."""
        found = {}
        for name, packet in sidecars(folder).items():
            picture = exiv2.ImageFactory.open(packet)
            picture.readMetadata()
            told = {one.key(): str(one.value()) for one in picture.xmpData()}
            place = " ".join(told.get(f"Xmp.exif.GPS{one}", "-") for one in ("Latitude", "Longitude"))
            found[name.removesuffix(".xmp")] = place
        return found

    def test_go_into_the_sidecars_of_frames_to_keep_and_to_spare_and_no_others(self, held, walk):
        (held.folder / "A0003.xmp").write_text(packets.RICH)
        originals = sums(held.folder)
        walk(0.119, 52.20511)
        run = write_sidecars(held.book, held.id, with_positions=True)
        here = "52,12.3066N 0,7.1400E"
        assert self.positions(held.folder) == {"A0001": here, "A0002": here, "A0003": "- -", "A0004": here}
        assert [(one.placed.track, one.kept_position) for one in run.written] == [("walk.gpx", None)] * 3
        assert sidecars(held.folder)["A0003.xmp"].decode() == packets.RICH
        assert sums(held.folder) == originals
        again = write_sidecars(held.book, held.id, with_positions=True)
        assert (again.written, [one.placed is None for one in again.unchanged]) == ((), [False, False, True, False])

    def test_are_for_photographs_that_tell_none_themselves(self, book, photos, draw_burst, tmp_path):
        boxes = draw_burst(photos, BLURS_PX)
        picture = exiv2.ImageFactory.open(str(next(iter(boxes))))
        picture.readMetadata()
        own = {
            "GPSLatitudeRef": "N",
            "GPSLatitude": "1/1 0/1 0/1",
            "GPSLongitudeRef": "E",
            "GPSLongitude": "2/1 0/1 0/1",
        }
        for name, value in own.items():
            picture.exifData()[f"Exif.GPSInfo.{name}"] = value
        picture.writeMetadata()
        held = hold(book, photos, boxes)
        self.take(held, tmp_path / "walk.gpx", 0.119, 52.20511)
        write_sidecars(held.book, held.id, with_positions=True)
        here = "52,12.3066N 0,7.1400E"
        assert self.positions(held.folder) == {"A0001": "- -", "A0002": here, "A0004": here}

    def test_are_let_be_without_being_asked_for(self, held, walk):
        walk(0.119, 52.20511)
        write_sidecars(held.book, held.id)
        assert set(self.positions(held.folder).values()) == {"- -"}
        write_sidecars(held.book, held.id, with_positions=True)
        held.choose(0, Choice.LEAVE)
        drop_positions(held.book, held.id)
        run = write_sidecars(held.book, held.id)
        assert set(self.positions(held.folder).values()) == {"52,12.3066N 0,7.1400E"}
        assert {one.placed for one in (*run.written, *run.unchanged)} == {None}

    def test_give_way_to_better_ones_whatever_another_program_wrote_meanwhile(self, held, walk):
        walk(0.119, 52.20511)
        write_sidecars(held.book, held.id, with_positions=True)
        write_sidecars(held.book, held.id, keywords=["pond"])
        path = held.folder / "A0001.xmp"
        path.write_bytes(path.read_bytes().replace(b"</rdf:RDF>", b"<!-- theirs --></rdf:RDF>"))
        walk(-0.2, -16.5)
        write_sidecars(held.book, held.id, with_positions=True)
        assert set(self.positions(held.folder).values()) == {"16,30.0000S 0,12.0000W"}
        assert b"<!-- theirs -->" in path.read_bytes()

    def test_go_where_no_track_tells_them_any_more_and_where_a_frame_is_to_leave(self, held, walk):
        walk(0.119, 52.20511)
        write_sidecars(held.book, held.id, with_positions=True)
        held.choose(0, Choice.LEAVE)
        write_sidecars(held.book, held.id, with_positions=True)
        here = "52,12.3066N 0,7.1400E"
        assert self.positions(held.folder) == {"A0001": "- -", "A0002": here, "A0004": here}
        drop_positions(held.book, held.id)
        write_sidecars(held.book, held.id, with_positions=True)
        assert set(self.positions(held.folder).values()) == {"- -"}

    def test_of_another_program_stay_and_are_told(self, held, walk):
        theirs = packets.RICH.replace(
            'xmp:Rating="3"',
            'xmlns:exif="http://ns.adobe.com/exif/1.0/" exif:GPSLatitude="1,2.5N" exif:GPSLongitude="3,4.5E"',
        )
        (held.folder / "A0001.xmp").write_text(theirs)
        walk(0.119, 52.20511)
        run = write_sidecars(held.book, held.id, with_positions=True, overrule_ratings=True)
        assert self.positions(held.folder)["A0001"] == "1,2.5N 3,4.5E"
        assert [(one.placed, one.kept_position) for one in run.written if one.path.name == "A0001.xmp"] == [
            (None, "1,2.5N 3,4.5E")
        ]

    def test_corrected_in_another_program_are_somebody_elses(self, held, walk):
        walk(0.119, 52.20511)
        write_sidecars(held.book, held.id, with_positions=True)
        path = held.folder / "A0001.xmp"
        path.write_bytes(path.read_bytes().replace(b">0,7.1400E<", b">0,7.2000E<"))
        walk(-0.2, -16.5)
        run = write_sidecars(held.book, held.id, with_positions=True)
        assert self.positions(held.folder)["A0001"] == "52,12.3066N 0,7.2000E"
        assert [one.kept_position for one in (*run.written, *run.unchanged)].count("52,12.3066N 0,7.2000E") == 1

    def test_are_undone_step_by_step(self, held, walk):
        states = [sidecars(held.folder)]
        write_sidecars(held.book, held.id)
        for place in ((0.119, 52.20511), (-0.2, -16.5)):
            states.append(sidecars(held.folder))
            walk(*place)
            write_sidecars(held.book, held.id, with_positions=True)
        for state in reversed(states):
            undo_sidecars(held.book, held.id)
            assert sidecars(held.folder) == state

    def test_alone_are_taken_back_where_another_program_has_written_since(self, held, walk):
        (held.folder / "A0002.xmp").write_text(packets.RICH)
        walk(0.119, 52.20511)
        write_sidecars(held.book, held.id, with_positions=True)
        walk(-0.2, -16.5)
        write_sidecars(held.book, held.id, with_positions=True)
        for path in held.folder.glob("*.xmp"):
            path.write_bytes(path.read_bytes().replace(b"</rdf:RDF>", b"<!-- theirs --></rdf:RDF>"))
        undo_sidecars(held.book, held.id)
        assert set(self.positions(held.folder).values()) == {"52,12.3066N 0,7.1400E"}
        undo_sidecars(held.book, held.id)
        assert set(self.positions(held.folder).values()) == {"- -"}
        assert all(b"<!-- theirs -->" in packet for packet in sidecars(held.folder).values())

    def test_a_dry_run_tells_them_and_writes_none(self, held, walk):
        walk(0.119, 52.20511)
        told = {
            one.path.name: one.text
            for one in write_sidecars(held.book, held.id, with_positions=True, dry_run=True).written
        }
        assert sidecars(held.folder) == {}
        assert all("52,12.3066N" in text for text in told.values())
        write_sidecars(held.book, held.id, with_positions=True)
        assert told == {name: packet.decode() for name, packet in sidecars(held.folder).items()}


class TestFailures:
    def test_a_damaged_sidecar_is_named_and_left_and_the_others_are_written(self, held):
        (held.folder / "A0001.xmp").write_text("<x:xmpmeta")
        run = write_sidecars(held.book, held.id)
        assert [str(one) for one in run.failed] == [
            f"{held.folder / 'A0001.xmp'}: left as it is, for it is no sound XMP sidecar: line 1: unclosed token"
        ]
        assert sidecars(held.folder)["A0001.xmp"] == b"<x:xmpmeta"
        assert len(run.written) == 2

    def test_a_folder_or_a_link_to_a_picture_in_a_sidecars_place_is_named_and_left(self, held):
        (held.folder / "A0001.xmp").mkdir()
        (held.folder / "A0002.xmp").symlink_to(held.paths[1])
        before = held.paths[1].read_bytes()
        run = write_sidecars(held.book, held.id)
        assert ["Is a directory" in str(run.failed[0]), "no valid utf-8" in str(run.failed[1])] == [True, True]
        assert held.paths[1].read_bytes() == before
        assert len(run.written) == 1

    @pytest.fixture
    def on_small_disk(self, small_disk, book, draw_burst):
        held = hold(book, small_disk / "pictures", draw_burst(small_disk / "pictures", BLURS_PX))
        (held.folder / "A0001.xmp").write_text(packets.RICH)
        return held, small_disk

    def test_a_full_disk_costs_a_line_each_and_nothing_that_was_there(self, on_small_disk):
        held, disk = on_small_disk
        before, originals = sidecars(held.folder), sums(held.folder)
        fill_up(disk)
        run = write_sidecars(held.book, held.id)
        assert [str(one) for one in run.failed] == [
            f"{held.folder / name}: cannot be written: No space left on device"
            for name in ("A0001.xmp", "A0002.xmp", "A0004.xmp")
        ]
        assert (sidecars(held.folder), sums(held.folder)) == (before, originals)
        assert run.written == ()
        (disk / "ballast").unlink()
        assert len(write_sidecars(held.book, held.id).written) == 3

    def test_a_disk_that_fills_up_halfway_costs_only_what_came_after(self, on_small_disk):
        held, disk = on_small_disk
        fill_up(disk)
        with (disk / "ballast").open("r+b") as ballast:
            ballast.truncate((disk / "ballast").stat().st_size - 8192)
        run = write_sidecars(held.book, held.id)
        assert len(run.written) + len(run.failed) == 3
        assert len(run.written) >= 1
        assert [entry.path for entry in last_step(held.book, held.id)][::-1] == [one.path for one in run.written]
        assert not [path.name for path in held.folder.iterdir() if path.name.startswith(".")]

    def test_a_read_only_card_costs_a_line_each(self, on_small_disk):
        held, disk = on_small_disk
        subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
        run = write_sidecars(held.book, held.id)
        assert [one.reason for one in run.failed] == ["cannot be written: Read-only file system"] * 3
        assert last_step(held.book, held.id) == ()

    @pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write everything")
    def test_a_folder_that_may_not_be_written_costs_a_line_each(self, held):
        held.folder.chmod(0o555)
        try:
            run = write_sidecars(held.book, held.id)
        finally:
            held.folder.chmod(0o755)
        assert [one.reason for one in run.failed] == ["cannot be written: Permission denied"] * 3
        assert sidecars(held.folder) == {}

    def test_a_card_that_was_pulled_out_costs_a_line_each(self, held):
        shutil.rmtree(held.folder)
        run = write_sidecars(held.book, held.id)
        assert [one.reason for one in run.failed] == ["cannot be written: No such file or directory"] * 3

    def test_a_quota_that_is_reached_leaves_no_half_sidecar(self, held):
        (held.folder / "A0001.xmp").write_text(packets.RICH)
        before = sidecars(held.folder)
        code = (
            "import resource, sys; from pathlib import Path; from stillwing.fieldbook.book import open_book\n"
            "from stillwing.share import sidecar\n"
            "from stillwing.share.atomic import write_atomically\n"
            "def write(path, packet):\n"
            "    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)\n"
            "    resource.setrlimit(resource.RLIMIT_FSIZE, (700, hard))\n"
            "    try: write_atomically(path, packet)\n"
            "    finally: resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))\n"
            "sidecar.write_atomically = write\n"
            "with open_book(Path(sys.argv[1])) as book:\n"
            "    for one in sidecar.write_sidecars(book, int(sys.argv[2])).failed: print(one)\n"
        )
        command = [sys.executable, "-c", code, held.book.path, str(held.id)]
        told = subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()
        assert [line.split(": ", 1)[1] for line in told] == ["cannot be written: File too large"] * len(told)
        assert f"{held.folder / 'A0001.xmp'}: " in told[0]
        assert sidecars(held.folder)["A0001.xmp"] == before["A0001.xmp"]
        assert not [path.name for path in held.folder.iterdir() if path.name.startswith(".")]


class TestUndo:
    def test_brings_back_the_sidecars_that_were_there_and_removes_the_new_ones(self, held):
        (held.folder / "A0001.xmp").write_text(packets.RICH)
        before = sidecars(held.folder)
        write_sidecars(held.book, held.id, overrule_ratings=True)
        undone = undo_sidecars(held.book, held.id)
        assert sidecars(held.folder) == before
        assert len(undone.restored) == 3
        assert undo_sidecars(held.book, held.id).restored == ()

    def test_goes_back_step_by_step(self, held):
        states = [sidecars(held.folder)]
        write_sidecars(held.book, held.id)
        states.append(sidecars(held.folder))
        held.choose(0, Choice.SPARE)
        write_sidecars(held.book, held.id, keywords=["pond"])
        for state in reversed(states):
            undo_sidecars(held.book, held.id)
            assert sidecars(held.folder) == state

    def test_works_after_the_program_was_closed(self, held):
        write_sidecars(held.book, held.id)
        with open_book(held.book.path) as again:
            undo_sidecars(again, held.id)
        assert sidecars(held.folder) == {}

    def test_takes_only_our_marks_from_a_sidecar_that_another_program_has_written_since(self, held):
        (held.folder / "A0001.xmp").write_text(packets.RICH)
        write_sidecars(held.book, held.id, overrule_ratings=True)
        for name in ("A0001.xmp", "A0002.xmp"):
            path = held.folder / name
            path.write_bytes(path.read_bytes().replace(b"</rdf:RDF>", b"<!-- theirs --></rdf:RDF>"))
        undo_sidecars(held.book, held.id)
        assert ratings(held.folder) == {"A0001.xmp": "3", "A0002.xmp": None}
        for packet in sidecars(held.folder).values():
            assert b"<!-- theirs -->" in packet
            assert b"stillwing" not in packet

    def test_lets_a_rating_stand_that_somebody_set_since(self, held):
        write_sidecars(held.book, held.id)
        path = held.folder / "A0001.xmp"
        path.write_bytes(path.read_bytes().replace(b"<xmp:Rating>4<", b"<xmp:Rating>5<"))
        undo_sidecars(held.book, held.id)
        assert ratings(held.folder) == {"A0001.xmp": "5"}

    def test_that_cannot_write_says_so_and_can_be_tried_again(self, held):
        write_sidecars(held.book, held.id)
        written = (held.folder / "A0001.xmp").read_bytes()
        (held.folder / "A0001.xmp").write_text("<damaged")
        undone = undo_sidecars(held.book, held.id)
        assert [one.path.name for one in undone.failed] == ["A0001.xmp"]
        assert len(undone.restored) == 2
        (held.folder / "A0001.xmp").write_bytes(written)
        assert [path.name for path in undo_sidecars(held.book, held.id).restored] == ["A0001.xmp"]

    def test_finds_nothing_to_do_where_the_program_stopped_before_it_wrote(self, held):
        path = held.folder / "A0001.xmp"
        write = SidecarWrite(step=1, path=path, before=None, after_sha256="0" * 64, rating="4")
        enter_sidecars(held.book, held.id, [write])
        assert undo_sidecars(held.book, held.id).failed == ()
        assert sidecars(held.folder) == {}

    def test_after_undo_our_former_rating_is_ours_again(self, held):
        write_sidecars(held.book, held.id)
        held.choose(0, Choice.SPARE)
        write_sidecars(held.book, held.id)
        undo_sidecars(held.book, held.id)
        write_sidecars(held.book, held.id)
        assert ratings(held.folder)["A0001.xmp"] == "2"


class TestPairs:
    def test_a_pair_is_written_once(self, book, photos, draw_burst):
        held = hold(book, photos, draw_burst(photos, BLURS_PX), raw=True)
        run = write_sidecars(held.book, held.id)
        assert [one.path.name for one in run.written] == ["A0001.xmp", "A0002.xmp", "A0004.xmp"]

    @pytest.mark.skipif(os.name != "posix", reason="only here may file names hold any bytes")
    def test_a_name_that_is_no_unicode_is_written(self, book, photos, draw_burst):
        boxes = draw_burst(photos, BLURS_PX)
        odd = Path(os.fsdecode(os.fsencode(photos) + b"/caf\xe9.JPG"))
        first = next(iter(boxes))
        first.rename(odd)
        held = hold(book, photos, {odd if path == first else path: box for path, box in boxes.items()})
        write_sidecars(held.book, held.id)
        assert odd.with_suffix(".xmp").is_file()
        undo_sidecars(held.book, held.id)
        assert not odd.with_suffix(".xmp").exists()
