"""Several files read at once."""

from fieldbook.sightingstrategies import HAWKER
from stillwing.records.brought import brought
from stillwing.records.darwin_core import simple_darwin_core

GOOD = simple_darwin_core([HAWKER])


def test_good_files_give_all_they_hold() -> None:
    came = brought([("one.csv", GOOD)])
    assert (came.files, came.sightings, came.mistakes) == (("one.csv",), (HAWKER,), ())


def test_a_mistake_in_one_keeps_all_out_and_names_file_and_line() -> None:
    came = brought([("one.csv", GOOD), ("two.csv", GOOD.replace(b"2024-07-06", b"soon"))])
    assert came.sightings == ()
    (mistake,) = came.mistakes
    assert mistake.startswith("two.csv, line 2: ")


def test_a_zip_that_is_none_is_told() -> None:
    (mistake,) = brought([("torn.ZIP", b"PK")]).mistakes
    assert mistake.startswith("torn.ZIP cannot be opened as a zip file")
