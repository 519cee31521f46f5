import hashlib

import pytest


def test_a_folder_with_something_in_it_is_refused(stillwing, tmp_path):
    (tmp_path / "mine.jpg").write_bytes(b"mine")
    run = stillwing("render", tmp_path)
    assert run.returncode == 2
    assert "not empty" in run.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["mine.jpg"]


def test_a_file_in_the_folder_s_place_is_refused(stillwing, tmp_path):
    (tmp_path / "file").write_text("a file")
    run = stillwing("render", tmp_path / "file")
    assert run.returncode == 2
    assert "is a file" in run.stderr


@pytest.mark.parametrize("words", [["--megapixels", "0.2"], ["--megapixels", "80"], ["--seed", "-1"]])
def test_sizes_and_seeds_out_of_range_are_refused(stillwing, tmp_path, words):
    run = stillwing("render", tmp_path / "new", *words)
    assert run.returncode == 2
    assert not (tmp_path / "new").exists()


@pytest.mark.slow
def test_two_seeds_give_two_outings_of_200_frames(stillwing, tmp_path):
    sums = {}
    for name, seed in (("one", 1), ("other", 2)):
        run = stillwing("render", tmp_path / name, "--megapixels", 1, "--seed", seed)
        assert run.returncode == 0, run.stderr
        assert run.stdout.strip() == str(tmp_path / name)
        frames = sorted((tmp_path / name).rglob("*.JPG")) + sorted((tmp_path / name).rglob("*.jpg"))
        assert len(frames) >= 200
        assert (tmp_path / name / "truth").is_dir()
        sums[name] = {frame.name: hashlib.sha256(frame.read_bytes()).hexdigest() for frame in frames}
    assert sums["one"] != sums["other"]
