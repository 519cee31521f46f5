"""Kits on the Settings page."""

from pathlib import Path

import httpx
import pytest

from stillwing.errors import InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import EXAMPLE_KIT, kits
from stillwing.optics.kitparts import KitParts
from stillwing.web.settings_kits import KIT_FIELDS, add_kit, kits_part

from .conftest import Served

NEEDED = {
    "name": "long lens", "sensor_width_mm": "17.4", "sensor_height_mm": "13,0", "width_px": "5184",
    "height_px": "3888", "shortest_mm": "75", "longest_mm": "300", "widest_at_shortest": "4.8",
    "widest_at_longest": "6.7",
}  # fmt: skip
JSON = {"Accept": "application/json"}


def test_a_kit_is_stored_as_it_was_typed(tmp_path: Path) -> None:
    typed = NEEDED | {"shortest_s": "1/16000", "readout_s": "0", "look_back_s": "0.7", "highest_iso": "12800"}
    with open_book(tmp_path / "book.sqlite") as book:
        kit = add_kit(book, typed)
        assert kits(book) == (kit,)
        part = kits_part(book)
    camera, lens = kit.camera, kit.lens
    assert (camera.sensor_width_mm, camera.sensor_height_mm, camera.width_px) == (17.4, 13.0, 5184)
    assert (camera.shortest_s, camera.readout_s, camera.look_back_s) == (1 / 16000, 0.0, 0.7)
    assert (camera.highest_iso, camera.lowest_iso) == (12800, 200)
    assert (lens.shortest_mm, lens.widest_at_longest, lens.closest_focus_m) == (75, 6.7, 0.0)
    (line,) = part.stored
    assert (line.name, line.words, line.is_standing) == ("long lens", kit.words, True)
    assert not part.example.is_standing


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"name": " "}, "the kit has no name; give it one, such as long lens"),
        ({"width_px": "5184.5"}, "picture, width is '5184.5'; write it in px, such as 5184"),
        ({"narrowest": "small"}, "narrowest aperture is 'small'; write the number after f/, such as 22"),
        ({"shortest_s": "quick"}, "shortest exposure is 'quick'; write it in s, such as 1/8000"),
        ({"longest_mm": ""}, "the kit 'long lens' lacks the focal range, such as 75-300 mm"),
        ({"sensor_height_mm": "26"}, "5184 x 3888 pixels on 17.4 x 26 mm are not square"),
    ],
)
def test_a_kit_that_cannot_be_is_told_in_one_sentence(tmp_path: Path, wrong: dict[str, str], sentence: str) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        with pytest.raises(InputError) as told:
            add_kit(book, NEEDED | wrong)
        assert str(told.value).startswith(sentence)
        assert kits(book) == ()


def test_each_field_is_one_of_a_kit_and_says_what_an_empty_one_means(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        part = kits_part(book)
    assert {field.name for field in KIT_FIELDS} <= set(KitParts.__dataclass_fields__)
    assert part.typical["narrowest"] == "22"
    assert part.typical["readout_s"] == "1/60"
    assert part.typical["teleconverter"] == "none"
    assert all(part.typical[field.name] for field in KIT_FIELDS if not field.is_needed)


def test_a_form_stores_a_kit_and_goes_back_to_the_question_with_it(client: httpx.Client, served: Served) -> None:
    asked = "/settings?animal=gull&behaviour=pass&far=20+m"
    answer = client.post("/settings/kits", data=NEEDED | {"question": asked})
    assert answer.status_code == 303
    assert answer.headers["location"] == f"{asked}&kit=long+lens#kits"
    shown = client.get(answer.headers["location"])
    assert '<option value="long lens" selected>' in shown.text
    assert "for the example kit" not in shown.text
    with open_book(served.drawn.book_path) as book:
        assert [kit.name for kit in kits(book)] == ["long lens"]


def test_a_wrong_form_keeps_what_was_typed_and_the_question(client: httpx.Client) -> None:
    typed = NEEDED | {"width_px": "many", "question": "/settings?animal=gull&behaviour=pass&far=20+m"}
    answer = client.post("/settings/kits", data=typed)
    assert answer.status_code == 422
    assert "Picture, width is &#39;many&#39;; write it in px, such as 5184." in answer.text
    assert 'value="many"' in answer.text
    assert 'name="animal" value="gull"' in answer.text


def test_a_kit_is_used_and_removed(client: httpx.Client) -> None:
    client.post("/settings/kits", data=NEEDED)
    client.post("/settings/kits", data=NEEDED | {"name": "short one", "longest_mm": "200"})
    assert (
        client.post("/settings/kits/use", data={"name": "long lens"}).headers["location"].endswith("kit=long+lens#kits")
    )
    page = client.get("/settings", headers=JSON).json()
    assert {kit["name"]: kit["is_standing"] for kit in page["kits"]["stored"]} == {
        "long lens": True,
        "short one": False,
    }
    assert client.post("/settings/kits/remove", data={"name": "long lens"}).status_code == 303
    assert client.post("/settings/kits/remove", data={"name": "short one"}).status_code == 303
    page = client.get("/settings", headers=JSON).json()
    assert page["kits"]["stored"] == []
    assert page["result"]["answer"]["kit"]["name"] == EXAMPLE_KIT.name


def test_no_other_page_may_change_the_kits(served: Served) -> None:
    foreign = {"Origin": "http://pond.example", "Sec-Fetch-Site": "cross-site"}
    for path in ("", "/use", "/remove"):
        answer = httpx.post(f"{served.url}/settings/kits{path}", data=NEEDED, headers=foreign)
        assert answer.status_code == 403
    with open_book(served.drawn.book_path) as book:
        assert kits(book) == ()
