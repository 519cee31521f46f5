import pytest

from stillwing.frames.listing import list_frames


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


@pytest.mark.parametrize("words", [["--megapixels", "0.2"], ["--megapixels", "80"]])
def test_sizes_out_of_range_are_refused(stillwing, tmp_path, words):
    run = stillwing("render", tmp_path / "new", *words)
    assert run.returncode == 2
    assert not (tmp_path / "new").exists()


@pytest.mark.slow
def test_an_outing_has_200_frames_of_the_size_asked_for_and_its_truth(stillwing, tmp_path):
    run = stillwing("render", tmp_path / "new", "--megapixels", 1)
    assert run.returncode == 0, run.stderr
    assert run.stdout.strip() == str(tmp_path / "new")
    listed = list_frames(tmp_path / "new").frames
    assert len(listed) >= 200
    assert len(list((tmp_path / "new" / "truth").iterdir())) >= 6
    # 1 megapixel and not the 6 of a run without the option.
    assert {round(frame.tags.width_px * frame.tags.height_px / 1e6) for frame in listed} == {1}
