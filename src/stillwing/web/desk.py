"""What every page works with: the open field book, the templates, and the pictures."""

from dataclasses import dataclass

from stillwing.errors import UnknownThing
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.outings import Outing, outing
from stillwing.fieldbook.traces import BurstTrace, trace
from stillwing.web.answer import Leaves
from stillwing.web.cutouts import CutOuts
from stillwing.web.measuring import Measuring
from stillwing.web.originals import Originals

__all__ = ["Desk"]


@dataclass(frozen=True, slots=True)
class Desk:
    """The things at hand while the pages are served."""

    book: FieldBook
    leaves: Leaves
    cut_outs: CutOuts
    originals: Originals
    measuring: Measuring

    def outing(self, outing_id: int) -> Outing:
        """Return an outing, or raise `UnknownThing`."""
        return outing(self.book, outing_id)

    def burst_of(self, outing_id: int, burst_id: int) -> BurstTrace:
        """Return a burst's trace, or raise `UnknownThing` where the outing has no such burst."""
        found = trace(self.book, burst_id)
        if found.outing_id != outing_id:
            raise UnknownThing(f"outing number {outing_id} holds no burst number {burst_id}")
        return found
