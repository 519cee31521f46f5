import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.fieldbook.boxes import drawn_boxes
from stillwing.fieldbook.choices import choose, standing_choices
from stillwing.fieldbook.frames import measured_burst, store_chunk
from stillwing.fieldbook.listing import store_listing, to_measure
from stillwing.fieldbook.outings import open_outing
from stillwing.fieldbook.pieces import VALUES_AT_ONCE, pieces
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.chosen import Choice
from stillwing.frames.frame import Burst, Frame, Tags

from .invented import measured


@given(st.integers(0, 3 * VALUES_AT_ONCE))
def test_pieces_join_up_to_the_whole(n_values):
    values = range(n_values)
    found = list(pieces(values))
    assert [value for piece in found for value in piece] == list(values)
    assert all(0 < len(piece) <= VALUES_AT_ONCE for piece in found)


@pytest.mark.slow
def test_a_burst_longer_than_a_statement_has_parameters_is_kept(book, photos):
    # SQLite 3.32 and later take 32,766; a folder whose files tell no time may come as one burst.
    frames = tuple(Frame((photos / f"{i}.jpg",), Tags()) for i in range(33_000))
    outing = open_outing(book, "long", photos)
    store_listing(book, outing.id, photos, [Burst("0", frames)])
    assert len(to_measure(book, outing.id, photos, "1")[0].frames) == 33_000
    store_chunk(
        book, outing.id, [measured(frame) for frame in frames], code_version="1", drawn=drawn_boxes(book, outing.id)
    )
    burst_id = burst_summaries(book, outing.id)[0].id
    assert len(measured_burst(book, burst_id).frames) == 33_000
    ids = [frame.id for frame in trace(book, burst_id).frames]
    assert choose(book, outing.id, ids[:501], Choice.KEEP) == 501
    assert len(standing_choices(book, outing.id)) == 501
