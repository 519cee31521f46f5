from datetime import UTC, datetime

import pytest

from stillwing.errors import WriteFailed
from stillwing.sky.forecastcache import KeptAnswer, keep, kept

NOON = datetime(2024, 6, 20, 12, tzinfo=UTC)


def test_what_is_kept_comes_back(tmp_path):
    path = tmp_path / "new" / "place.json"
    keep(path, NOON, {"hourly": [1, None, "°C"]})
    assert kept(path) == KeptAnswer(NOON, {"hourly": [1, None, "°C"]})
    assert [file.name for file in path.parent.iterdir()] == ["place.json"]


def test_a_second_answer_takes_the_place_of_the_first(tmp_path):
    path = tmp_path / "place.json"
    for answer in (1, 2):
        keep(path, NOON, answer)
    assert kept(path).answer == 2


def test_what_is_not_there_or_damaged_is_nothing(tmp_path):
    path = tmp_path / "place.json"
    assert kept(path) is None
    keep(path, NOON, list(range(1000)))
    path.write_bytes(path.read_bytes()[:-5])
    assert kept(path) is None


def test_a_write_that_fails_leaves_what_was_there(tmp_path, monkeypatch):
    path = tmp_path / "place.json"
    keep(path, NOON, 1)

    def full(self, *_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.replace", full)
    with pytest.raises(WriteFailed, match="No space left on device"):
        keep(path, NOON, 2)
    assert kept(path).answer == 1
    assert [file.name for file in tmp_path.iterdir()] == ["place.json"]
