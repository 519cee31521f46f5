"""How large the pictures of each burst are, and what they were to be sharp for."""

from pathlib import Path

from review.invented import HEIGHT_PX, SHARP_FOR, WIDTH_PX, Taken, invent_outing
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.burstoutputs import BurstOutput, burst_outputs
from stillwing.fieldbook.outings import open_outing


def test_each_burst_has_the_size_of_its_pictures_and_the_output_of_its_outing(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        assert burst_outputs(book) == {}
        open_outing(book, "empty", tmp_path)
        invent_outing(book, "June", [Taken(), Taken()])
        told = burst_outputs(book)
    assert list(told.values()) == 2 * [BurstOutput((WIDTH_PX, HEIGHT_PX), SHARP_FOR)]
