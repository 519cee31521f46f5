"""``stillwing render``: an outing of our own invention, to try things on."""

import time
from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.terminal import print_data, say
from stillwing.errors import InputError
from stillwing.frames.sift import n_cores

__all__ = ["render_frames"]


def render_frames(
    folder: Annotated[Path, typer.Argument(help="Folder to put the frames in; made when it is not there.")],
    megapixels: Annotated[float, typer.Option(min=1, max=50, help="Size of the frames.")] = 6.0,
) -> None:
    """Render a small outing of invented bursts with known truth.

    Two cards with dragonflies, damselflies and birds, sharp and soft, and some frames with nothing in them. What is
    true of each frame is written beside them as JSON. Prints the folder's path. The folder must be new or empty.
    """
    # Imported here, as in serve: no other command draws.
    from stillwing.scene.outing import OUTING, render_outing

    if folder.exists() and not folder.is_dir():
        raise InputError(f"{folder} is a file; name a folder")
    if folder.is_dir() and any(folder.iterdir()):
        raise InputError(
            f"{folder} is not empty; name a new folder, so that nothing of yours is mixed with what is invented"
        )
    n_frames = sum(burst.n_frames for burst in OUTING)
    say(f"rendering {n_frames} frames of {megapixels:g} megapixels in {len(OUTING)} bursts")
    started = time.monotonic()
    render_outing(folder, megapixels=megapixels, workers=n_cores())
    say(f"rendered in {time.monotonic() - started:.0f} s")
    print_data(str(folder))
