import hashlib
import subprocess

from cli.conftest import fill


def test_keepers_are_copied_with_a_list_of_sums_that_holds(stillwing_here, kept_outing, tmp_path):
    folder, book = kept_outing
    run = stillwing_here("keepers", tmp_path / "kept", "--book", book)
    assert run.returncode == 0, run.stderr
    kept = tmp_path / "kept" / "A0001.JPG"
    assert kept.read_bytes() == (folder / "A0001.JPG").read_bytes()
    assert str(kept) in run.stdout.splitlines()
    listed = (tmp_path / "kept" / "SHA256SUMS").read_text()
    assert f"{hashlib.sha256(kept.read_bytes()).hexdigest()}  A0001.JPG" in listed


def test_the_list_is_one_that_sha256sum_checks(stillwing_here, kept_outing, tmp_path):
    _, book = kept_outing
    stillwing_here("keepers", tmp_path / "kept", "--book", book)
    check = subprocess.run(["sha256sum", "-c", "SHA256SUMS"], cwd=tmp_path / "kept", capture_output=True, check=False)
    assert check.returncode == 0, check.stderr


def test_links_are_the_same_file(stillwing_here, kept_outing, tmp_path):
    folder, book = kept_outing
    stillwing_here("keepers", tmp_path / "linked", "--book", book, "--link")
    assert (tmp_path / "linked" / "A0001.JPG").samefile(folder / "A0001.JPG")
    stillwing_here("keepers", tmp_path / "copied", "--book", book)
    assert not (tmp_path / "copied" / "A0001.JPG").samefile(folder / "A0001.JPG")


def test_other_choices_can_be_gathered_too(stillwing_here, kept_outing, tmp_path):
    _, book = kept_outing
    run = stillwing_here(
        "keepers", tmp_path / "all", "--book", book, "--choice", "keep", "--choice", "spare", "--choice", "leave"
    )
    assert len(run.stdout.splitlines()) == 3


def test_a_second_run_copies_nothing_again(stillwing_here, kept_outing, tmp_path):
    _, book = kept_outing
    stillwing_here("keepers", tmp_path / "kept", "--book", book)
    again = stillwing_here("keepers", tmp_path / "kept", "--book", book)
    assert again.returncode == 0
    assert again.stderr.startswith("0 files copied, ")


def test_a_folder_that_cannot_be_made_is_exit_code_4(stillwing_here, kept_outing, tmp_path):
    _, book = kept_outing
    (tmp_path / "file").write_text("in the way")
    run = stillwing_here("keepers", tmp_path / "file" / "kept", "--book", book)
    assert run.returncode == 4
    assert "Traceback" not in run.stderr


def test_a_word_that_is_no_choice_is_refused(stillwing_here, kept_outing, tmp_path):
    _, book = kept_outing
    run = stillwing_here("keepers", tmp_path / "kept", "--book", book, "--choice", "best")
    assert run.returncode == 2
    assert "keep" in run.stderr


def test_a_full_disk_costs_the_copy_and_nothing_else(stillwing_here, kept_outing, small_disk):
    folder, book = kept_outing
    fill(small_disk, 560_000)
    run = stillwing_here("keepers", small_disk / "kept", "--book", book)
    assert run.returncode == 4
    assert "Traceback" not in run.stderr
    assert "space" in run.stderr
    assert not (small_disk / "kept" / "A0001.JPG").exists()
    assert (folder / "A0001.JPG").exists()


def test_a_full_disk_keeps_the_old_table(stillwing_here, kept_outing, small_disk):
    _, book = kept_outing
    table = small_disk / "t.csv"
    table.write_text("old")
    fill(small_disk, 1_000_000)
    run = stillwing_here("export", table, "--book", book)
    assert run.returncode == 4
    assert table.read_text() == "old"
