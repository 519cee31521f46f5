import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).parent.parent
PROGRAM = "import sys; sys.path.insert(0, {wheel!r}); from stillwing.cli.app import main; main()"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    place = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(place)]
    built = subprocess.run(build, cwd=REPOSITORY, capture_output=True, text=True, check=False)
    assert built.returncode == 0, built.stderr
    (path,) = place.glob("*.whl")
    return path


@pytest.mark.slow
def test_the_wheel_holds_every_file_of_the_package(wheel):
    with zipfile.ZipFile(wheel) as packed:
        names = set(packed.namelist())
    source = REPOSITORY / "src"
    ours = {path.relative_to(source).as_posix() for path in source.rglob("*") if path.is_file()}
    missing = {name for name in ours - names if "__pycache__" not in name}
    assert missing == set()
    assert "stillwing/py.typed" in names


@pytest.mark.slow
def test_the_wheel_alone_runs_and_sifts(wheel, tmp_path, draw_burst):
    unpacked = tmp_path / "unpacked"
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(unpacked)
    draw_burst(tmp_path / "outing", (0.6, 1.4))
    program = [sys.executable, "-c", PROGRAM.format(wheel=str(unpacked))]
    shown = subprocess.run([*program, "--help"], capture_output=True, text=True, check=False, cwd=tmp_path)
    assert shown.returncode == 0, shown.stderr
    words = ["sift", "outing", "--book", "book.sqlite", "--workers", "1"]
    sifted = subprocess.run([*program, *words], capture_output=True, text=True, check=False, cwd=tmp_path)
    assert sifted.returncode == 0, sifted.stderr
