import pytest


@pytest.mark.parametrize(("ending", "start"), [("pdf", b"%PDF-"), ("html", b"<!")])
def test_a_sheet_shows_the_keepers(stillwing_here, kept_outing, tmp_path, ending, start):
    _, book = kept_outing
    sheet = tmp_path / f"sheet.{ending}"
    run = stillwing_here("sheet", sheet, "--book", book)
    assert run.returncode == 0, run.stderr
    assert sheet.read_bytes().lstrip()[: len(start)].lower() == start.lower()
    assert "1 frames" in run.stderr


def test_spare_frames_can_be_shown_too(stillwing_here, kept_outing, tmp_path):
    _, book = kept_outing
    sheet = tmp_path / "sheet.html"
    stillwing_here("sheet", sheet, "--book", book, "--choice", "keep", "--choice", "spare")
    both = sheet.read_text()
    stillwing_here("sheet", sheet, "--book", book)
    assert "A0001" in both
    assert both.count("A000") > sheet.read_text().count("A000")


def test_another_ending_is_refused(stillwing_here, kept_outing, tmp_path):
    _, book = kept_outing
    run = stillwing_here("sheet", tmp_path / "sheet.docx", "--book", book)
    assert run.returncode == 2
    assert ".pdf or .html" in run.stderr
