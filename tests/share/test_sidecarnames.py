import pytest

from stillwing.share.sidecarnames import sidecar_paths


def names(*shots):
    return [[path.name for path in paths] for paths in sidecar_paths(shots)]


def test_a_pair_shares_one_sidecar(tmp_path):
    assert names([tmp_path / "A1.JPG", tmp_path / "A1.ORF"]) == [["A1.xmp"]]


@pytest.mark.parametrize("name", ["A1.xmp", "A1.XMP", "a1.Xmp", "A1.JPG.xmp", "A1.jpg.XMP", "A1.ORF.xmp"])
def test_what_is_there_is_used(tmp_path, name):
    (tmp_path / name).touch()
    assert names([tmp_path / "A1.JPG", tmp_path / "A1.ORF"]) == [[name]]


def test_all_that_are_there_are_used(tmp_path):
    for name in ("A1.xmp", "A1.JPG.xmp", "A1.ORF.xmp", "A10.xmp"):
        (tmp_path / name).touch()
    assert names([tmp_path / "A1.JPG", tmp_path / "A1.ORF"]) == [["A1.xmp", "A1.JPG.xmp", "A1.ORF.xmp"]]


def test_shots_that_differ_by_their_ending_have_one_each(tmp_path):
    (tmp_path / "A1.xmp").touch()
    assert names([tmp_path / "A1.JPG"], [tmp_path / "A1.PNG"]) == [["A1.JPG.xmp"], ["A1.PNG.xmp"]]


def test_a_pair_in_two_folders_has_one_in_each(tmp_path):
    shot = [tmp_path / "jpg" / "A1.JPG", tmp_path / "raw" / "A1.ORF"]
    assert sidecar_paths([shot]) == [(tmp_path / "jpg" / "A1.xmp", tmp_path / "raw" / "A1.xmp")]
    (tmp_path / "raw").mkdir()
    (tmp_path / "raw" / "A1.xmp").touch()
    assert sidecar_paths([shot]) == [(tmp_path / "raw" / "A1.xmp",)]
