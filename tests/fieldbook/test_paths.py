import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.fieldbook.paths import paths_from, paths_text, stored_path

names = st.text(st.characters(blacklist_characters="/\0", blacklist_categories=("Cs",)), min_size=1).filter(
    lambda name: name not in (".", "..")
)


def test_a_link_is_not_followed_so_that_paths_stay_under_the_folder_named(tmp_path):
    (tmp_path / "card 7").mkdir()
    (tmp_path / "pictures").symlink_to(tmp_path / "card 7")
    assert stored_path(tmp_path / "pictures" / "a.jpg") == tmp_path / "pictures" / "a.jpg"


def test_dots_are_taken_out(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert stored_path(Path("a/../b/./c.jpg")) == tmp_path / "b" / "c.jpg"


@given(st.lists(names))
def test_several_paths_come_back_as_they_were(file_names):
    paths = tuple(Path("/pictures") / name for name in file_names)
    assert paths_from(paths_text(paths)) == paths


@pytest.mark.skipif(os.name != "posix", reason="only here may file names hold any bytes")
def test_names_that_are_no_unicode_come_back(tmp_path):
    path = Path(os.fsdecode(b"/pictures/caf\xe9.jpg"))
    assert paths_from(paths_text([path])) == (path,)
