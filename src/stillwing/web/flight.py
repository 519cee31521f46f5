"""The page of a burst's flight: how the animal flew, where it is open, what the burst teaches; its outing's beside."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from stillwing.review.flownonce import FlownOnce
from stillwing.web.blur_axis import blur_limit_px
from stillwing.web.desk import Desk
from stillwing.web.flight_outing import flight_outing_routes
from stillwing.web.flight_view import FlightPage, flight_page

__all__ = ["flight_routes", "shown_flight"]


def shown_flight(desk: Desk, flown: FlownOnce, outing_id: int, burst_id: int) -> FlightPage:
    """Return the page.

    Parameters
    ----------
    desk : Desk
    flown : FlownOnce
        Flights that need not be made out again.
    outing_id, burst_id : int

    Raises
    ------
    UnknownThing
        If there is no such burst.
    """
    outing, trace = desk.outing(outing_id), desk.burst_of(outing_id, burst_id)
    told = flown.burst_flight(desk.book, trace)
    return flight_page(outing, trace, told, blur_limit_px(outing.sharp_for, [trace]))


def flight_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page, and of what an outing's flights teach together."""
    routes = APIRouter()
    routes.include_router(flight_outing_routes(desk))
    flown = FlownOnce()

    @routes.get("/outings/{outing_id}/bursts/{burst_id}/flight")
    def show_flight(request: Request, outing_id: int, burst_id: int) -> Response:
        """Show how the animal of a burst flew."""
        page = shown_flight(desk, flown, outing_id, burst_id)
        return desk.leaves.answer(request, page, "flight.html")

    return routes
