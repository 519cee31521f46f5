"""What a frame or a trace shows, in words: captions, and what is read out."""

from stillwing.fieldbook.toldwords import count
from stillwing.fieldbook.traces import BurstTrace, TraceFrame
from stillwing.frames.chosen import Choice
from stillwing.web import words
from stillwing.web.trace import lead

__all__ = ["blur_words", "choice_words", "spoken"]


def blur_words(frame: TraceFrame) -> str:
    """Return the blur on the frame's animal in words, or why there is none."""
    animal = lead(frame)
    if animal is None:
        return "no animal found" if frame.is_measured else "not measured"
    return "blur not measured" if animal.blur is None else words.pixels(animal.blur.blur_px)


def choice_words(frame: TraceFrame) -> str:
    """Return the standing choice in words, and whose it is."""
    if frame.by_hand is not None:
        return f"{frame.by_hand} decided"
    return "nothing proposed" if frame.proposed is None else f"{frame.proposed} proposed"


def spoken(trace: BurstTrace) -> str:
    """Return the trace in one sentence, for those who do not see the plot."""
    measured = [
        (animal.blur.blur_px, frame.number + 1)
        for frame in trace.frames
        if (animal := lead(frame)) is not None and animal.blur is not None
    ]
    n_kept = sum(frame.choice is Choice.KEEP for frame in trace.frames)
    if not measured:
        return f"{count(len(trace.frames), 'frame')}, no animal measured"
    sharpest, softest = min(measured), max(measured)
    return (
        f"{count(len(trace.frames), 'frame')}; blur from {words.pixels(sharpest[0])} in frame {sharpest[1]} "
        f"to {words.pixels(softest[0])} in frame {softest[1]}; {n_kept} kept"
    )
