"""The Settings page: the object behind it, its HTML and its JSON, and what it says where it cannot answer."""

import html
import json
import re

import httpx
import pytest

JSON = {"Accept": "application/json"}
GULL = {"animal": "gull", "behaviour": "pass", "far": "20 m", "light": "overcast"}


def test_the_empty_page_shows_an_answer_at_once(client: httpx.Client) -> None:
    shown = client.get("/settings")
    assert shown.status_code == 200
    words = [one.strip() for one in re.findall(r'<span class="pencil-word">([^<]+)</span>', shown.text)]
    assert re.fullmatch(r"f/\d+(\.\d)?", words[0])
    assert re.fullmatch(r"1/\d+ s", words[1])
    assert re.fullmatch(r"ISO \d+", words[2])
    assert "No kit is stored yet, so this is for the example kit" in shown.text


def test_html_and_json_show_the_same_answer(client: httpx.Client) -> None:
    page = client.get("/settings", params=GULL, headers=JSON).json()
    shown = html.unescape(client.get("/settings", params=GULL).text)
    view = page["result"]["view"]
    assert (view["best_f_number"], view["best_exposure"]) == ("f/6.7", view["best_exposure"])
    assert page["result"]["answer"]["distance_m"] == 20
    for sentence in (*view["told"], *view["cautions"], view["asked"], view["point"]["verdict"]):
        assert sentence in shown
    for cause in view["causes"]:
        assert cause["words"] in shown
    assert page["wrong"] is None


def test_the_plot_gets_the_figures_of_the_page(client: httpx.Client) -> None:
    page = client.get("/settings", headers=JSON).json()
    shown = client.get("/settings").text
    plane, frontier = re.findall(r'<script type="application/json" class="figures">(.*?)</script>', shown, re.S)
    assert json.loads(plane) == page["result"]["plane"]
    assert json.loads(frontier) == page["result"]["view"]["frontier"]


def test_the_form_keeps_what_was_asked(client: httpx.Client) -> None:
    shown = client.get("/settings", params=GULL | {"wings_too": "yes", "shake_deg_s": "0.25"}).text
    assert 'name="animal" value="gull"' in shown
    assert '<option value="pass" selected>' in shown
    assert 'name="far" value="20 m"' in shown
    assert 'name="wings_too" value="yes" checked' in shown
    assert '<option value="0.25" selected>0.25 deg/s</option>' in shown


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"animal": "hawkr"}, "animal", r"no animal .*hawk"),
        ({"far": "close"}, "far", r"'close' is neither a distance nor a size; write 3 m, or 25 % of the frame"),
        ({"far": "0.4 m"}, None, r"the distance is 0.4 m; this lens focuses no closer than 1.30 m"),
        (
            {"far": "99 %", "animal": "35 mm damselfly"},
            None,
            r"the animal would be closer than this lens focuses \(1.30 m\)",
        ),
        ({"light": "gloom"}, "light", r"gloom"),
        ({"light": "EV 25"}, None, r"the light is EV 25; it lies between EV -6"),
        ({"kit": "none such"}, "kit", r"no kit called 'none such'"),
        ({"sharp_for": "poster"}, "sharp_for", r"'poster' is not an output"),
        ({"focal_length_mm": "900"}, None, r"the focal length is 900 mm; this lens has 75 to 300 mm"),
        ({"f_number": "2", "exposure": "1/1000"}, "f_number", r"the f-number is f/2; here it lies between"),
    ],
)
def test_a_wrong_field_is_told_beside_the_form_and_kept(
    client: httpx.Client, typed: dict[str, str], field: str | None, sentence: str
) -> None:
    answer = client.get("/settings", params=typed)
    assert answer.status_code == 422
    notice = re.search(r'<div class="notice" role="alert" id="wrong"><p>(.*?)</p>', answer.text)
    assert notice is not None
    assert re.search(sentence, html.unescape(notice[1]), re.I)
    if field is not None and field != "f_number":
        assert re.search(rf'name="{field}"[^>]*aria-invalid="true"', answer.text)
        if field != "kit":
            assert f'value="{typed[field]}"' in html.unescape(answer.text)
    page = client.get("/settings", params=typed, headers=JSON)
    assert page.status_code == 422
    assert re.search(sentence, page.json()["wrong"]["sentence"], re.I)
    assert page.json()["wrong"]["field"] == field
    assert page.json()["result"] is None


def test_a_kit_that_is_not_there_stays_in_its_field(client: httpx.Client) -> None:
    assert '<option value="none such" selected>none such</option>' in client.get("/settings?kit=none+such").text


def test_what_was_typed_is_words_and_never_markup(client: httpx.Client) -> None:
    shown = client.get("/settings", params={"animal": '"><b>gull</b>'}).text
    assert "<b>gull" not in shown
    assert "&#34;&gt;&lt;b&gt;gull" in shown


def test_a_point_is_answered_with_its_frames(client: httpx.Client) -> None:
    point = client.get("/settings/point", params=GULL | {"f_number": "8", "exposure": "1/2000"}).json()
    assert point["setting"].startswith("f/8, 1/2000 s, ISO ")
    assert re.fullmatch(r"\d+ %: .* in one pass", point["frames"])
    slower = client.get("/settings/point", params=GULL | {"f_number": "8", "exposure": "1/250"}).json()
    assert int(slower["frames"].split()[0]) < int(point["frames"].split()[0])


def test_a_point_in_the_address_is_shown_without_scripts(client: httpx.Client) -> None:
    asked = GULL | {"f_number": "8", "exposure": "1/2000"}
    point = client.get("/settings/point", params=asked).json()
    shown = client.get("/settings", params=asked).text
    for name in ("setting", "verdict", "blur", "usable", "frames"):
        assert f'data-told="{name}">{html.escape(point[name])}<' in shown


def test_a_point_that_cannot_be_is_told(client: httpx.Client) -> None:
    answer = client.get("/settings/point", params={"f_number": "lots", "exposure": "1/1000"}, headers=JSON)
    assert (answer.status_code, answer.json()["sentence"]) == (422, "'lots' is not an f-number; write it like 'f/8'")


def test_every_page_has_a_way_to_the_settings(client: httpx.Client) -> None:
    for path in ("/", "/outings/1", "/outings/1/bursts/1", "/nowhere"):
        assert 'href="/settings"' in client.get(path, headers={"Accept": "text/html"}).text
