"""The lists of species to pick from."""

import shutil

import pytest

from stillwing.errors import InputError
from stillwing.records.pack import pack_folders
from stillwing.records.regionpicks import RegionPicks, region_picks, usable_region

SHIPPED = pack_folders()["south-east-australia"]


@pytest.fixture
def own(tmp_path):
    """Return a folder with one list of one's own."""
    shutil.copytree(SHIPPED, tmp_path / "my-pond")
    return tmp_path


def spoil(folder):
    (folder / "region.csv").write_text("name,covers\n")


def test_shipped_lists_and_ones_own_may_be_picked(own):
    picks = {pick.key: pick for pick in region_picks(own)}
    assert set(picks) == {"britain-and-ireland", "south-east-australia", "my-pond"}
    assert picks["my-pond"].region.key == "my-pond"
    assert picks["britain-and-ireland"].name == "Britain and Ireland"


def test_a_list_with_mistakes_is_there_and_says_why_it_cannot_be_used(own):
    spoil(own / "my-pond")
    picks = region_picks(own)
    (bad,) = (pick for pick in picks if pick.key == "my-pond")
    assert bad.region is None and "region.csv, line 2" in bad.trouble
    with pytest.raises(InputError, match=r"region\.csv, line 2"):
        usable_region(picks, "my-pond")
    assert usable_region(picks, "britain-and-ireland").key == "britain-and-ireland"


def test_without_a_key_only_a_single_list_is_meant(own):
    picks = region_picks(own)
    assert usable_region(picks, "") is None
    assert usable_region(picks[:1], "") is picks[0].region


def test_a_list_that_is_gone_is_told_with_those_there_are(own):
    with pytest.raises(InputError, match='"gone" is not there any more; there are britain-and-ireland'):
        usable_region(region_picks(own), "gone")


def test_a_list_is_read_again_when_one_of_its_files_changes(own):
    picks = RegionPicks(own)
    first = {pick.key: pick for pick in picks.picks()}
    assert {pick.key: pick.region for pick in picks.picks()}["my-pond"] is first["my-pond"].region
    spoil(own / "my-pond")
    second = {pick.key: pick for pick in picks.picks()}
    assert second["my-pond"].region is None
    assert second["britain-and-ireland"].region is first["britain-and-ireland"].region
