import doctest
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "sky.md"


def test_the_examples_on_the_page_give_what_it_says():
    failed, tried = doctest.testfile(str(PAGE), module_relative=False)
    assert tried > 5
    assert failed == 0
