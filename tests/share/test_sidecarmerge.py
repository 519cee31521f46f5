"""Names and sensitive places in sidecars, written into a folder and read back with libexiv2's XMP toolkit."""

from dataclasses import replace
from datetime import date
from uuid import UUID

import exiv2
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.fieldbook.sidecars import last_step
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import keep_sighting, undo_sightings, withdraw_sighting
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Doing, Verification
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.fieldbook.tracks import take_track
from stillwing.frames.chosen import Choice
from stillwing.share.sidecar import undo_sidecars, write_sidecars

from . import packets
from .test_sidecar import sidecars, sums

JUNCEA = Sighting(
    "Aeshna juncea",
    When(date(2024, 7, 14)),
    Where(name="pond"),
    UUID(int=1),
    qualifier="cf. juncea",
    doing=(Doing.TANDEM,),
)
NAMES = ("Aeshna cf. juncea", "Common Hawker (uncertain)", "tandem")
HERE = ("52,12.3066N", "0,7.1400E")


def properties(packet):
    """Return what libexiv2 finds: keywords as a list, all else as text."""
    picture = exiv2.ImageFactory.open(packet)
    picture.readMetadata()
    # Values are read while the data they belong to is held; the binding does not keep it alive for them.
    data = picture.xmpData()
    found = {one.key(): str(one.value()) for one in data}
    for one in data:
        if one.key() == "Xmp.dc.subject":
            found[one.key()] = [str(one.value().toString(i)) for i in range(one.count())]
    return found


def told(folder):
    """Return the keywords of each sidecar as libexiv2 finds them, without those of the choice."""
    found = {}
    for name, packet in sidecars(folder).items():
        items = properties(packet).get("Xmp.dc.subject", [])
        found[name.removesuffix(".xmp")] = tuple(one for one in items if not one.startswith("stillwing "))
    return found


def frames(held):
    return [frame.id for frame in trace(held.book, burst_summaries(held.book, held.id)[0].id).frames]


@pytest.fixture
def named(held):
    """Give what the caller hands in: keywords of the frames to keep and to spare, and of one to leave."""
    first, second, leave, spare = frames(held)
    return {first: NAMES, second: ("Lestes", "male"), leave: ("Libellula",), spare: NAMES}


def write(held, named, **more):
    return write_sidecars(held.book, held.id, with_names=named, **more)


class TestNames:
    def test_go_into_the_sidecars_of_frames_to_keep_and_to_spare_and_no_others(self, held, named):
        (held.folder / "A0003.xmp").write_text(packets.RICH)
        originals = sums(held.folder)
        run = write(held, named)
        assert told(held.folder) == {
            "A0001": NAMES,
            "A0002": ("Lestes", "male"),
            "A0003": ("pond", "dragonfly"),
            "A0004": NAMES,
        }
        assert [one.names for one in run.written] == [NAMES, ("Lestes", "male"), NAMES]
        assert sidecars(held.folder)["A0003.xmp"].decode() == packets.RICH
        assert sums(held.folder) == originals

    def test_a_second_time_leave_nothing_to_write(self, held, named):
        (held.folder / "A0001.xmp").write_text(packets.RICH)
        write(held, named)
        before = sidecars(held.folder)
        run = write(held, named)
        assert (len(run.written), len(run.unchanged)) == (0, 3)
        assert sidecars(held.folder) == before

    def test_are_let_be_without_being_asked_for(self, held, named):
        write_sidecars(held.book, held.id)
        assert set(told(held.folder).values()) == {()}
        write(held, named)
        run = write_sidecars(held.book, held.id)
        assert told(held.folder)["A0001"] == NAMES
        assert {one.names for one in (*run.written, *run.unchanged)} == {()}

    def test_that_are_given_no_more_go_and_those_of_others_stay(self, held, named):
        (held.folder / "A0001.xmp").write_text(packets.RICH.replace("dragonfly", "tandem"))
        write(held, named)
        assert told(held.folder)["A0001"] == ("pond", "tandem", *NAMES[:2])
        write(held, {frames(held)[0]: ("Lestes",)})
        assert told(held.folder) == {"A0001": ("pond", "tandem", "Lestes"), "A0002": (), "A0004": ()}
        write(held, {})
        assert told(held.folder)["A0001"] == ("pond", "tandem")

    def test_go_from_a_frame_that_is_to_leave(self, held, named):
        write(held, named)
        held.choose(0, Choice.LEAVE)
        write(held, named)
        assert b"stillwing" not in sidecars(held.folder)["A0001.xmp"]
        assert told(held.folder)["A0001"] == ()

    def test_given_as_keywords_too_stay_when_the_sighting_goes(self, held, named):
        write(held, named)
        write_sidecars(held.book, held.id, keywords=["tandem"])
        write(held, {})
        assert told(held.folder) == {"A0001": ("tandem",), "A0002": ("tandem",), "A0004": ("tandem",)}

    def test_that_a_sidecar_cannot_hold_are_refused_before_anything_is_written(self, held):
        for name in ("", "a\0b", "stillwing keep"):
            with pytest.raises(InputError, match="the keyword"):
                write(held, {frames(held)[0]: ("Lestes", name)})
        assert sidecars(held.folder) == {}

    def test_a_dry_run_tells_the_texts_and_writes_nothing(self, held, named):
        (held.folder / "A0001.xmp").write_text(packets.RICH)
        before = sidecars(held.folder)
        run = write(held, named, dry_run=True)
        assert (sidecars(held.folder), last_step(held.book, held.id)) == (before, ())
        texts = {one.path.name: one.text for one in run.written}
        assert "<rdf:li>Aeshna cf. juncea</rdf:li>" in texts["A0001.xmp"]
        write(held, named)
        assert texts == {name: packet.decode() for name, packet in sidecars(held.folder).items()}

    def test_are_undone_step_by_step_byte_for_byte(self, held, named):
        (held.folder / "A0002.xmp").write_text(packets.RICH)
        states = [sidecars(held.folder)]
        for names in (None, named, {frames(held)[1]: ("Lestes sponsa",)}, {}):
            write(held, names)
            states.append(sidecars(held.folder))
        for state in reversed(states[:-1]):
            undo_sidecars(held.book, held.id)
            assert sidecars(held.folder) == state

    def test_alone_are_taken_back_where_another_program_has_written_since(self, held, named):
        (held.folder / "A0002.xmp").write_text(packets.RICH)
        write(held, named)
        write(held, {frames(held)[1]: ("Lestes sponsa",)})
        for path in held.folder.glob("*.xmp"):
            path.write_bytes(path.read_bytes().replace(b"</rdf:RDF>", b"<!-- theirs --></rdf:RDF>"))
        undo_sidecars(held.book, held.id)
        assert told(held.folder) == {"A0001": NAMES, "A0002": ("pond", "dragonfly", "Lestes", "male"), "A0004": NAMES}
        undo_sidecars(held.book, held.id)
        assert told(held.folder) == {"A0001": (), "A0002": ("pond", "dragonfly"), "A0004": ()}
        assert all(b"<!-- theirs -->" in packet for packet in sidecars(held.folder).values())


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=15, deadline=None)
@given(
    st.lists(
        st.lists(st.sampled_from(["Lestes", "male", "pond", "a & b", "dragonfly"]), max_size=3, unique=True),
        min_size=1,
        max_size=4,
    )
)
def test_whatever_was_named_on_the_way_undo_brings_every_state_back(held, steps):
    path = held.folder / "A0001.xmp"
    path.write_text(packets.RICH)
    states = []
    for names in steps:
        states.append(path.read_bytes())
        run = write(held, {frames(held)[0]: tuple(names)})
        assert set(told(held.folder)["A0001"]) == {"pond", "dragonfly", *names}
        if path not in [one.path for one in run.written]:
            states.pop()
    for state in reversed(states):
        undo_sidecars(held.book, held.id)
        assert path.read_bytes() == state
    # What undo has brought back is the start of the next example.
    while undo_sidecars(held.book, held.id).restored:
        pass


class TestSensitivePlaces:
    """Positions beside the names of what must not be found."""

    @pytest.fixture
    def walk(self, held, tmp_path):
        file = tmp_path / "walk.gpx"
        file.write_text(
            '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
            '<trkpt lat="52.20511" lon="0.119"><time>2024-07-14T10:30:00Z</time></trkpt></trkseg></trk></gpx>'
        )
        # The drawn camera's clock runs in UTC.
        take_track(held.book, held.id, file, camera_minus_utc_s=0.0)

    def see(self, held, **more):
        burst = burst_summaries(held.book, held.id)[0].id
        keep_sighting(held.book, replace(JUNCEA, **more), outing_id=held.id, bursts=[burst])

    def positions(self, held):
        keys = [f"Xmp.exif.GPS{one}" for one in ("Latitude", "Longitude")]
        all_told = [properties(packet) for packet in sidecars(held.folder).values()]
        return {tuple(found[key] for key in keys if key in found) for found in all_told}

    @pytest.mark.parametrize("names", [None, {}])
    def test_are_not_written_unless_asked_for(self, held, walk, names):
        self.see(held, sensitive=True)
        run = write(held, names, with_positions=True)
        assert self.positions(held) == {()}
        assert [(one.placed, one.held_back.track) for one in run.written] == [(None, "walk.gpx")] * 3
        run = write(held, names, with_positions=True, sensitive_positions=True)
        assert self.positions(held) == {HERE}
        assert {one.held_back for one in run.written} == {None}

    def test_of_sightings_that_are_not_sensitive_are_written(self, held, walk, named):
        self.see(held)
        run = write(held, named, with_positions=True)
        assert (self.positions(held), {one.held_back for one in run.written}) == ({HERE}, {None})

    def test_of_frames_that_a_sensitive_sighting_does_not_list_are_left_out_too(self, held, walk):
        self.see(held, sensitive=True, pictures=("A0001.JPG",))
        write(held, {}, with_positions=True)
        assert self.positions(held) == {()}

    def test_of_a_name_that_was_refuted_are_left_out_too(self, held, walk):
        self.see(held, sensitive=True, verification=Verification.REFUTED)
        write(held, {}, with_positions=True)
        assert self.positions(held) == {()}

    def test_that_were_written_before_are_taken_out_and_undo_brings_them_back(self, held, walk):
        write(held, {}, with_positions=True)
        before = sidecars(held.folder)
        self.see(held, sensitive=True)
        write(held, {}, with_positions=True)
        assert self.positions(held) == {()}
        undo_sidecars(held.book, held.id)
        assert sidecars(held.folder) == before

    def test_come_back_when_the_sighting_is_withdrawn_and_go_when_that_is_undone(self, held, walk):
        self.see(held, sensitive=True)
        withdraw_sighting(held.book, JUNCEA.id)
        write(held, {}, with_positions=True)
        assert self.positions(held) == {HERE}
        undo_sightings(held.book)
        write(held, {}, with_positions=True)
        assert self.positions(held) == {()}

    def test_that_stand_there_all_the_same_are_told(self, held, walk, named):
        write(held, None, with_positions=True)
        self.see(held, sensitive=True)
        run = write(held, named)
        assert self.positions(held) == {HERE}
        assert [one.shows_sensitive_place for one in run.written] == [True] * 3
        run = write(held, named, with_positions=True)
        assert [one.shows_sensitive_place for one in run.written] == [False] * 3

    def test_that_another_program_wrote_stay_and_are_told(self, held, walk):
        theirs = packets.RICH.replace(
            'xmp:Rating="3"',
            'xmlns:exif="http://ns.adobe.com/exif/1.0/" exif:GPSLatitude="1,2.5N" exif:GPSLongitude="3,4.5E"',
        )
        (held.folder / "A0001.xmp").write_text(theirs)
        self.see(held, sensitive=True)
        run = write(held, {}, with_positions=True)
        assert ("1,2.5N", "3,4.5E") in self.positions(held)
        assert [one.shows_sensitive_place for one in run.written] == [True, False, False]
