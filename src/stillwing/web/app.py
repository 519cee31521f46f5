"""The pages' server: a field book in, an application out that listens to this machine alone."""

import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.resources import files
from pathlib import Path

import platformdirs
from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from stillwing.errors import StillwingError, UnknownThing
from stillwing.fieldbook.book import open_book
from stillwing.web.animal import animal_routes
from stillwing.web.answer import Leaves
from stillwing.web.burst import burst_routes
from stillwing.web.bursts import bursts_routes
from stillwing.web.choosing import choosing_routes
from stillwing.web.cutouts import CutOuts
from stillwing.web.desk import Desk
from stillwing.web.flight import flight_routes
from stillwing.web.guard import Guard
from stillwing.web.log import log_routes
from stillwing.web.measuring import Measuring
from stillwing.web.note import note_routes
from stillwing.web.originals import Originals
from stillwing.web.outinglog import outinglog_routes
from stillwing.web.outings import outings_routes
from stillwing.web.pictures import picture_routes
from stillwing.web.plan import plan_routes
from stillwing.web.plots import PLOTS, compiled_plot, plot_script, plots_mark
from stillwing.web.review import review_routes
from stillwing.web.settings import settings_routes
from stillwing.web.sightings import sightings_routes
from stillwing.web.sightings_edit import sightings_edit_routes
from stillwing.web.sightings_taking import sightings_taking_routes
from stillwing.web.sites import sites_routes
from stillwing.web.waiting import waiting_routes

__all__ = ["create_app", "default_cache_folder"]

FOREVER = {"Cache-Control": "private, max-age=31536000, immutable"}


def default_cache_folder() -> Path:
    """Return where small pictures are kept: the platform's folder for what can be made again."""
    return platformdirs.user_cache_path("stillwing", appauthor=False) / "pictures"


def create_app(book_path: Path, cache_folder: Path | None = None) -> FastAPI:
    """Return the pages' application over the field book at ``book_path``.

    Serve it on the loopback address; requests under any other name are refused.

    Parameters
    ----------
    book_path : Path
        The field book; made when absent.
    cache_folder : Path, optional
        Where small pictures are kept; `default_cache_folder` when not given.

    Raises
    ------
    FieldBookError
        If the field book cannot be used.
    """
    book = open_book(book_path)
    desk = Desk(book, Leaves(), CutOuts(cache_folder or default_cache_folder()), Originals(), Measuring(book))

    @asynccontextmanager
    async def at_work(app: FastAPI) -> AsyncIterator[None]:
        # The first page needs the script a moment after its words; begin now.
        threading.Thread(target=_prepare, args=(desk,), name="preparing", daemon=True).start()
        yield
        desk.measuring.close()
        desk.cut_outs.close()
        book.close()

    app = FastAPI(title="stillwing", lifespan=at_work, docs_url=None, redoc_url=None, openapi_url=None)
    app.add_middleware(Guard)
    app.mount("/static", StaticFiles(directory=str(files("stillwing.web") / "static")), name="static")
    for routes in (
        outings_routes, bursts_routes, burst_routes, note_routes, choosing_routes, picture_routes, settings_routes,
        sites_routes, plan_routes, log_routes, outinglog_routes, waiting_routes, review_routes, animal_routes,
        flight_routes, sightings_routes, sightings_taking_routes, sightings_edit_routes,
    ):  # fmt: skip
        app.include_router(routes(desk))
    _add_plots(app)
    _add_errors(app, desk)
    return app


def _add_plots(app: FastAPI) -> None:
    @app.get(f"/plots/{plots_mark()}/{{name}}.json")
    def show_plot(name: str) -> Response:
        """Show a plot without figures."""
        if name not in PLOTS:
            raise UnknownThing(f"there is no plot called {name!r}; there are {', '.join(PLOTS)}")
        return Response(compiled_plot(name), media_type="application/json", headers=FOREVER)

    @app.get(f"/plots/{plots_mark()}/vega.js")
    def show_plot_script() -> Response:
        """Show the script that draws plots."""
        return Response(plot_script(), media_type="text/javascript", headers={"Content-Encoding": "gzip", **FOREVER})


def _add_errors(app: FastAPI, desk: Desk) -> None:
    @app.exception_handler(StillwingError)
    def answer_error(request: Request, error: StillwingError) -> Response:
        """Answer every error of ours the same way on every page."""
        return desk.leaves.answer_error(request, error)

    @app.exception_handler(HTTPException)
    def answer_refusal(request: Request, error: HTTPException) -> Response:
        """Answer an address that no page has."""
        told = f"there is no page at {request.url.path}" if error.status_code == 404 else str(error.detail)
        return desk.leaves.answer_failure(request, error.status_code, told)

    @app.exception_handler(RequestValidationError)
    def answer_invalid(request: Request, error: RequestValidationError) -> Response:
        """Answer an address whose figures cannot be used."""
        first = error.errors()[0]
        where = first["loc"][-1]
        return desk.leaves.answer_failure(request, 422, f"{where} cannot be used: {first['msg'].lower()}")


def _prepare(desk: Desk) -> None:
    plot_script()
    for name in PLOTS:
        compiled_plot(name)
    desk.cut_outs.trim()
