import pytest

from stillwing.errors import InputError
from stillwing.place.textfile import read_text


def test_text_is_read_with_and_without_a_mark_at_its_start(tmp_path):
    file = tmp_path / "pond.geojson"
    file.write_bytes(b"\xef\xbb\xbf{}")
    assert read_text(file) == "{}"


def test_files_that_hold_no_text_are_told(tmp_path):
    file = tmp_path / "pond.gpx"
    with pytest.raises(InputError, match=r"pond\.gpx cannot be read: No such file"):
        read_text(file)
    with pytest.raises(InputError, match="cannot be read: Is a directory"):
        read_text(tmp_path)
    file.write_bytes(b" \n")
    with pytest.raises(InputError, match="is empty"):
        read_text(file)
    file.write_bytes(b"ab\xff\xfe")
    with pytest.raises(InputError, match="is not text in UTF-8: byte 3 does not fit"):
        read_text(file)
    with file.open("wb") as grown:
        grown.truncate(51_000_000)
    with pytest.raises(InputError, match="is 51 MB; an outline is up to 50 MB"):
        read_text(file)
