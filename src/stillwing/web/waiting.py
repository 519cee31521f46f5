"""The Waiting page: what the waiting at a water teaches of an animal."""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.routing import NoMatchFound

from stillwing.errors import UnknownThing
from stillwing.fieldbook.asking import kit_asked
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.kits import EXAMPLE_KIT
from stillwing.fieldbook.names import name_key
from stillwing.optics.kit import Kit
from stillwing.optics.lookback import RELEASE_LAG_S
from stillwing.optics.lookbacktold import look_back_sentences, look_back_told
from stillwing.review.waiting import Waited, waited_for, waiting_at
from stillwing.web.desk import Desk
from stillwing.web.waiting_view import WaitingView, waiting_view

__all__ = ["Pick", "ToSharePage", "WaitingPage", "waiting_page", "waiting_routes"]

SHARING = "show_sharing"
"""Name of the route of `share_page`."""
NO_SITE, NO_ANIMAL = "no site named", "no animal named"


@dataclass(frozen=True, slots=True)
class Pick:
    """One choice of a field."""

    value: str
    words: str
    is_picked: bool


@dataclass(frozen=True, slots=True)
class WaitingPage:
    """The page; nothing is picked and there is no view while nothing is logged."""

    title: str
    sites: tuple[Pick, ...]
    animals: tuple[Pick, ...]
    """Of the site picked, the most often logged first."""
    instead: str | None
    """Said where the animal asked for was not logged there."""
    view: WaitingView | None
    look_back: str | None = None
    """Whether the kit's look-back buffer holds a take-off; only where the animal has taken off."""


@dataclass(frozen=True, slots=True)
class ToSharePage:
    """How to begin sharing, while it is not on."""

    title: str
    command: str


def waiting_page(book: FieldBook, site: str | None = None, animal: str | None = None) -> WaitingPage:
    """Return the page for an animal at a site.

    Parameters
    ----------
    book : FieldBook
        Holds the moments.
    site : str, optional
        The one where most was logged when not given.
    animal : str, optional
        The most often logged one of that site when not given, or when none of that name was logged there.

    Raises
    ------
    UnknownThing
        If nothing was logged at that site.
    """
    known = waited_for(book)
    if not known and site is None:
        return WaitingPage("Waiting", (), (), None, None)
    wanted = known[0].site if site is None else site
    here = [one for one in known if name_key(one.site) == name_key(wanted)]
    if not here:
        places = ", ".join(dict.fromkeys(one.site or NO_SITE for one in known)) or "none"
        raise UnknownThing(f"no animal was logged at {wanted!r}; sites with some: {places}")
    named = [one for one in here if animal is not None and name_key(one.animal) == name_key(animal)]
    picked = (named or here)[0]
    instead = None
    if animal and not named:
        instead = f"no {animal} was logged at {picked.site or 'a site without a name'}: this is {_animal(picked)}"
    sites = tuple(
        Pick(name, name or NO_SITE, name_key(name) == name_key(wanted))
        for name in dict.fromkeys(one.site for one in known)
    )
    animals = tuple(Pick(one.animal, f"{_animal(one)} ({one.n_moments})", one is picked) for one in here)
    waiting = waiting_at(book, picked.site, picked.animal)
    look_back = None if waiting.away is None else _look_back(kit_asked(book, None))
    return WaitingPage("Waiting", sites, animals, instead, waiting_view(waiting), look_back)


def waiting_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page, and of the way to the page of sharing."""
    routes = APIRouter()

    @routes.get("/waiting")
    def show_waiting(request: Request, site: str | None = None, animal: str | None = None) -> Response:
        """Show what the waiting at a water teaches."""
        return desk.leaves.answer(request, waiting_page(desk.book, site, animal), "waiting.html")

    @routes.get("/to-share")
    def go_to_sharing(request: Request) -> Response:
        """Lead to the page of sharing, or tell how to begin: it is there only while stillwing shares."""
        try:
            return RedirectResponse(request.app.url_path_for(SHARING), 303)
        except NoMatchFound:
            page = ToSharePage("Share with a phone", "stillwing serve --share")
            return desk.leaves.answer(request, page, "to_share.html")

    return routes


def _animal(one: Waited) -> str:
    return one.animal or NO_ANIMAL


def _look_back(kit: Kit) -> str:
    told = look_back_told(kit.camera.look_back_s, kit.camera.frames_per_s, 0.0, None, RELEASE_LAG_S, 0.0)
    name = "the example kit" if kit is EXAMPLE_KIT else f"kit {kit.name}"
    return f"{name}: {look_back_sentences(told)[0]}"
