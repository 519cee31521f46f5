"""The routes of pictures: cut-outs, whole pictures, and pieces of originals."""

from pathlib import Path
from typing import Literal

from fastapi import APIRouter
from fastapi.responses import FileResponse, Response

from stillwing.errors import UnknownThing
from stillwing.fieldbook.frames import measured_frame
from stillwing.fieldbook.traces import frame_path
from stillwing.frames.measured import MeasuredFrame
from stillwing.web.cutouts import Subject, padded
from stillwing.web.desk import Desk

__all__ = ["picture_routes"]

FOR_A_DAY = {"Cache-Control": "private, max-age=86400"}
"""A cut-out's address changes with its box; a day limits how long a file that was changed in place looks as it did."""

BRIEFLY = {"Cache-Control": "private, max-age=300"}


def picture_routes(desk: Desk) -> APIRouter:
    """Return the routes of pictures."""
    routes = APIRouter(prefix="/pictures/{frame_id}")

    @routes.get("/none/{use}.jpg")
    def show_without_animal(frame_id: int, use: Literal["lane", "plate"]) -> Response:
        """Show a small picture of a frame in which no animal was found."""
        return _file(desk.cut_outs.cut_out(Subject(frame_path(desk.book, frame_id), None), use))

    @routes.get("/whole.jpg")
    def show_whole(frame_id: int) -> Response:
        """Show the whole picture, reduced."""
        return _file(desk.cut_outs.whole(frame_path(desk.book, frame_id)))

    @routes.get("/{number}/{use}.jpg")
    def show_animal(frame_id: int, number: int, use: Literal["lane", "plate"]) -> Response:
        """Show the cut-out of one animal of a frame."""
        return _file(desk.cut_outs.cut_out(_subject(measured_frame(desk.book, frame_id), number), use))

    @routes.get("/tiles/{column}/{row}.jpg")
    def show_tile(frame_id: int, column: int, row: int) -> Response:
        """Show a piece of the original."""
        packed = desk.originals.tile(frame_path(desk.book, frame_id), column, row)
        return Response(packed, media_type="image/jpeg", headers=BRIEFLY)

    return routes


def _subject(measured: MeasuredFrame, number: int) -> Subject:
    if not 0 <= number < len(measured.animals):
        raise UnknownThing(f"{measured.path.name} has {len(measured.animals)} animals, so none with number {number}")
    box = padded(measured.animals[number].box, measured.width_px, measured.height_px)
    return Subject(measured.path, box)


def _file(path: Path) -> Response:
    return FileResponse(path, media_type="image/jpeg", headers=FOR_A_DAY)
