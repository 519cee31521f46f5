import hashlib
import os
import shutil
import subprocess

import pytest

from stillwing.frames.chosen import Choice
from stillwing.share.keepers import MANIFEST, gather_keepers
from stillwing.share.sidecar import write_sidecars

from .conftest import BLURS_PX, fill_up, hold


@pytest.fixture
def pairs(book, photos, draw_burst):
    held = hold(book, photos, draw_burst(photos, BLURS_PX), raw=True)
    write_sidecars(book, held.id)
    return held


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "keepers"


def contents(folder):
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def checked(folder):
    """Return what coreutils' sha256sum says about the list of checksums."""
    if shutil.which("sha256sum") is None:
        pytest.skip("sha256sum is not here")
    run = subprocess.run(["sha256sum", "--strict", "-c", MANIFEST], cwd=folder, capture_output=True, check=False)
    return run.returncode, run.stdout.splitlines()


def test_all_files_of_a_shot_and_its_sidecar_go_together(pairs, folder):
    run = gather_keepers(pairs.book, pairs.id, folder)
    assert list(contents(folder)) == [
        "A0001.JPG",
        "A0001.ORF",
        "A0001.xmp",
        "A0002.JPG",
        "A0002.ORF",
        "A0002.xmp",
        MANIFEST,
    ]
    assert run.failed == ()
    for kept in run.files:
        assert kept.place.read_bytes() == kept.source.read_bytes()
        assert kept.sha256 == hashlib.sha256(kept.source.read_bytes()).hexdigest()
        assert kept.place.stat().st_mtime_ns == kept.source.stat().st_mtime_ns
        assert not kept.place.samefile(kept.source)


def test_the_list_passes_an_independent_check_and_fails_it_when_a_file_changes(pairs, folder):
    gather_keepers(pairs.book, pairs.id, folder)
    assert checked(folder)[0] == 0
    assert len(checked(folder)[1]) == 6
    with (folder / "A0001.JPG").open("r+b") as file:
        file.write(b"\0")
    assert checked(folder)[0] == 1


def test_links_take_no_room_and_sidecars_are_copied_all_the_same(pairs, folder):
    run = gather_keepers(pairs.book, pairs.id, folder, link=True)
    assert {kept.place.name for kept in run.files if kept.place.samefile(kept.source)} == {
        "A0001.JPG",
        "A0001.ORF",
        "A0002.JPG",
        "A0002.ORF",
    }
    assert checked(folder)[0] == 0


def test_originals_are_not_touched(pairs, folder):
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in pairs.folder.iterdir()}
    gather_keepers(pairs.book, pairs.id, folder)
    gather_keepers(pairs.book, pairs.id, folder.with_name("links"), link=True)
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in pairs.folder.iterdir()} == before


@pytest.mark.parametrize("link", [False, True])
def test_a_second_time_nothing_is_new(pairs, folder, link):
    gather_keepers(pairs.book, pairs.id, folder, link=link)
    before = contents(folder)
    run = gather_keepers(pairs.book, pairs.id, folder, link=link)
    assert [kept.is_new for kept in run.files] == [False] * 6
    assert contents(folder) == before


def test_a_later_run_adds_and_the_list_keeps_what_it_held(pairs, folder):
    gather_keepers(pairs.book, pairs.id, folder)
    pairs.choose(0, Choice.LEAVE)
    pairs.choose(3, Choice.KEEP)
    run = gather_keepers(pairs.book, pairs.id, folder)
    assert {kept.place.name for kept in run.files if kept.is_new} == {"A0004.JPG", "A0004.ORF", "A0004.xmp"}
    assert len(checked(folder)[1]) == 9


def test_spares_come_when_asked_for(pairs, folder):
    gather_keepers(pairs.book, pairs.id, folder, choices=(Choice.SPARE,))
    assert [name for name in contents(folder) if name.endswith(".JPG")] == ["A0004.JPG"]


def test_shots_of_one_name_from_two_folders_get_numbers_together_with_their_files(book, tmp_path, draw_burst, folder):
    one, two = tmp_path / "card 1", tmp_path / "card 2"
    first = hold(book, one, draw_burst(one, BLURS_PX), name="one", raw=True)
    second = hold(book, two, draw_burst(two, BLURS_PX, seed=2), name="two", raw=True)
    write_sidecars(book, second.id)
    (two / "A0001.xmp").rename(two / "A0001.JPG.xmp")
    gather_keepers(book, first.id, folder)
    for _ in range(2):
        gather_keepers(book, second.id, folder)
        assert {name for name in contents(folder) if name.startswith("A0001")} == {
            "A0001.JPG",
            "A0001.ORF",
            "A0001-2.JPG",
            "A0001-2.ORF",
            "A0001-2.JPG.xmp",
        }
    assert (folder / "A0001.JPG").read_bytes() == first.paths[0].read_bytes()
    assert (folder / "A0001-2.JPG").read_bytes() == second.paths[0].read_bytes()
    assert checked(folder)[0] == 0


def test_a_file_of_another_kind_in_the_way_is_never_overwritten(pairs, folder):
    folder.mkdir()
    (folder / "A0001.ORF").write_bytes(b"somebody else's")
    (folder / "A0002.JPG").symlink_to("nowhere")
    gather_keepers(pairs.book, pairs.id, folder)
    assert (folder / "A0001.ORF").read_bytes() == b"somebody else's"
    assert (folder / "A0002.JPG").is_symlink()
    assert {"A0001-2.JPG", "A0001-2.ORF", "A0002-2.JPG"} <= set(contents_names(folder))


def contents_names(folder):
    return [path.name for path in folder.iterdir()]


def test_a_sidecar_edited_in_the_folder_is_left_and_told(pairs, folder):
    gather_keepers(pairs.book, pairs.id, folder)
    (folder / "A0001.xmp").write_text("edited")
    run = gather_keepers(pairs.book, pairs.id, folder)
    assert [str(one) for one in run.failed] == [
        f"{folder / 'A0001.xmp'}: left as it is, for it differs from {pairs.folder / 'A0001.xmp'}"
    ]
    assert (folder / "A0001.xmp").read_text() == "edited"


def test_a_missing_original_is_told_and_the_rest_are_there(pairs, folder):
    (pairs.folder / "A0001.ORF").unlink()
    run = gather_keepers(pairs.book, pairs.id, folder)
    assert [str(one) for one in run.failed] == [
        f"{folder / 'A0001.ORF'}: not made, for {pairs.folder / 'A0001.ORF'} cannot be read: No such file or directory"
    ]
    assert len(run.files) == 5


def test_a_full_disk_costs_a_line_each_and_leaves_nothing_half_done(pairs, small_disk):
    (small_disk / "keepers").mkdir()
    fill_up(small_disk)
    run = gather_keepers(pairs.book, pairs.id, small_disk / "keepers")
    assert len(run.failed) == 6
    assert {one.reason for one in run.failed} == {"cannot be written: No space left on device"}
    assert list((small_disk / "keepers").iterdir()) == []


def test_links_to_another_disk_are_told_what_to_do(pairs, small_disk):
    run = gather_keepers(pairs.book, pairs.id, small_disk / "keepers", link=True)
    assert {one.reason for one in run.failed} == {
        "cannot be linked: Invalid cross-device link; copy the keepers instead"
    }
    assert [kept.place.name for kept in run.files] == ["A0001.xmp", "A0002.xmp"]


def test_a_folder_that_cannot_be_made_is_told(pairs, tmp_path):
    (tmp_path / "file").touch()
    run = gather_keepers(pairs.book, pairs.id, tmp_path / "file" / "keepers")
    assert [one.reason for one in run.failed] == ["cannot be made: Not a directory"]


def test_a_list_that_is_none_is_left_and_told(pairs, folder):
    folder.mkdir()
    (folder / MANIFEST).write_text("shopping: reeds\n")
    run = gather_keepers(pairs.book, pairs.id, folder)
    assert [one.reason for one in run.failed] == ["left as it is, for it is no list of SHA-256 sums"]
    assert (folder / MANIFEST).read_text() == "shopping: reeds\n"
    assert len(run.files) == 6


@pytest.mark.skipif(os.name != "posix", reason="only here may file names hold any bytes")
def test_names_of_any_bytes_pass_the_independent_check(book, photos, draw_burst, folder):
    boxes = draw_burst(photos, BLURS_PX)
    odd = photos / os.fsdecode(b"a\nb\\c\xe9.JPG")
    first = next(iter(boxes))
    first.rename(odd)
    held = hold(book, photos, {odd if path == first else path: box for path, box in boxes.items()})
    for _ in range(2):
        gather_keepers(book, held.id, folder)
        assert checked(folder)[0] == 0
        assert len(checked(folder)[1]) == 2


def test_keepers_gathered_where_they_lie_stay_as_they_are(pairs):
    before = contents(pairs.folder)
    run = gather_keepers(pairs.book, pairs.id, pairs.folder)
    after = contents(pairs.folder)
    assert not any(kept.is_new for kept in run.files)
    assert after.pop(MANIFEST)
    assert after == before
