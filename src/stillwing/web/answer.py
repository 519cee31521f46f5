"""One page object, answered as HTML or as JSON; one way to answer an error."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import datetime
from enum import Enum
from http import HTTPStatus
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse, JSONResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined

from stillwing.errors import StillwingError
from stillwing.web import words
from stillwing.web.plots import plots_mark

__all__ = ["THEMES", "ErrorPage", "Leaves", "as_json", "wants_json"]

THEMES = frozenset({"light", "dark"})
THEME_COOKIE = "stillwing_theme"


@dataclass(frozen=True, slots=True)
class ErrorPage:
    """What went wrong, in one sentence."""

    title: str
    sentence: str
    status: int


class Leaves:
    """The templates of the pages, and how a page object becomes an answer."""

    def __init__(self) -> None:
        self._templates = Environment(
            loader=PackageLoader("stillwing.web"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        self._templates.filters |= words.FILTERS
        self._templates.globals["plots"] = f"/plots/{plots_mark()}"
        self._templates.filters["as_json"] = as_json

    def answer(self, request: Request, page: object, template: str, status: int = 200) -> Response:
        """Return ``page`` as JSON where the request asks for it, else through its template."""
        if wants_json(request):
            return self.json(page, status)
        return HTMLResponse(self.html(request, page, template), status, headers={"Vary": "Accept, Cookie"})

    def json(self, page: object, status: int = 200) -> Response:
        """Return ``page`` as JSON."""
        return JSONResponse(as_json(page), status, headers={"Vary": "Accept"})

    def html(self, request: Request, page: object, template: str) -> str:
        """Return ``page`` as HTML."""
        theme = request.cookies.get(THEME_COOKIE)
        return self._templates.get_template(template).render(page=page, theme=theme if theme in THEMES else None)

    def answer_error(self, request: Request, error: StillwingError) -> Response:
        """Answer an error of ours with its status and its sentence."""
        return self.answer_failure(request, error.http_status, str(error))

    def answer_failure(self, request: Request, status: int, sentence: str) -> Response:
        """Answer with one sentence on a page of its own, or as JSON; pictures ask for neither and get plain words."""
        page = ErrorPage(_title(status), sentence, status)
        if request.headers.get("sec-fetch-dest") == "image":
            return Response(sentence, status, media_type="text/plain")
        return self.answer(request, page, "error.html", status)


def wants_json(request: Request) -> bool:
    """Tell whether the request asks for JSON before HTML."""
    if "as" in request.query_params:
        return request.query_params["as"] == "json"
    accept = request.headers.get("accept", "")
    return "application/json" in accept and "text/html" not in accept


def as_json(value: Any) -> Any:
    """Return ``value`` as what JSON can hold: NaN and infinities become null, dates and paths become text.

    Examples
    --------
    >>> as_json((float("nan"), Path("a.jpg")))
    [None, 'a.jpg']
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: as_json(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): as_json(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [as_json(one) for one in value]
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Path):
        # A name that is no valid UTF-8 is shown with its odd bytes replaced; it is never used as a key.
        return str(value).encode("utf-8", "replace").decode()
    if isinstance(value, datetime):
        return value.isoformat()
    return value


def _title(status: int) -> str:
    return "Not here" if status == HTTPStatus.NOT_FOUND else "That did not work"
