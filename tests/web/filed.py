"""Sightings for the tests of their pages, and forms filled in as a browser would send them."""

import html
import re
from dataclasses import replace
from datetime import date
from uuid import UUID

import httpx

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import keep_sighting, sightings
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Verification

from .conftest import Served

POND = Where(52.2053, 0.1218, 8.5, name="Long Pond")
BROWN = Sighting("Aeshna grandis", When(date(2024, 7, 6)), POND, id=UUID(int=1), count=2, recorded_by=("A Person",))
RARE = Sighting("Leucorrhinia dubia", When(date(2025, 6, 1)), POND, id=UUID(int=2), remarks="old gate", sensitive=True)
CHECKED = replace(
    BROWN,
    id=UUID(int=3),
    when=When(date(2023, 8, 1)),
    scientific_name="Sympetrum striolatum",
    verification=Verification.VERIFIED,
    identified_by=("B Person",),
)


def keep(served: Served, *told: Sighting) -> None:
    """Keep sightings, one step each."""
    with open_book(served.drawn.book_path) as book:
        for one in told:
            keep_sighting(book, one)


def stored(served: Served) -> tuple[Sighting, ...]:
    """Return the sightings that are kept, the latest first."""
    with open_book(served.drawn.book_path) as book:
        return tuple(one.sighting for one in sightings(book))


def filled(client: httpx.Client, address: str) -> dict[str, str | list[str]]:
    """Return the fields of the form of a sighting as they stand, as a browser would send them."""
    text = client.get(address).text
    text = text[text.index('<form class="record"') :]
    found: dict[str, str | list[str]] = {}
    for name, value in re.findall(r'<input type="(?:text|hidden)"[^>]*?name="(\w+)" value="([^"]*)"', text):
        found[name] = html.unescape(value)
    for name, value in re.findall(r'<textarea[^>]*?name="(\w+)"[^>]*>\n?([^<]*)</textarea>', text):
        found[name] = html.unescape(value)
    for name, options in re.findall(r'<select[^>]*?name="(\w+)"[^>]*>(.*?)</select>', text, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected', options)
        found[name] = html.unescape(chosen[1]) if chosen else ""
    ticks: dict[str, str | list[str]] = {}
    for name, value in re.findall(r'<input type="(?:checkbox|radio)" name="(\w+)" value="([^"]*)" checked', text):
        ticks[name] = [*ticks.get(name, []), html.unescape(value)]
    return found | ticks | {"do": "keep"}


def wrong(answer: httpx.Response) -> dict[str, str]:
    """Return the sentences that stand beside fields, by the field's name."""
    found = re.findall(r'<span class="wrong-words" id="(\w+)-wrong">(.*?)</span>', answer.text)
    return {name: html.unescape(words) for name, words in found}
