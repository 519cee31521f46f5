"""Placing the body by laying cutouts on one another: drawn animals with beating wings, grounds that stay or pass."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from stillwing.frames.bodyplace import BodyPlaces, body_places
from stillwing.frames.measured import Animal, Box, Cutout, Origin

ROWS, COLS = 600, 900
BODY = cv2.GaussianBlur(np.random.default_rng(3).normal(0, 1, (34, 180)), (0, 0), 2.5)
BODY = (BODY / BODY.std() * 45 + 60).astype(np.float32)
RIM = np.zeros(BODY.shape, np.float32)
cv2.ellipse(RIM, (90, 17), (88, 15), 0, 0, 360, 1.0, -1)


def ground_of(seed, contrast=18.0):
    """What is far behind: soft, and with structure."""
    soft = cv2.GaussianBlur(np.random.default_rng(seed).normal(0, 1, (ROWS, COLS)), (0, 0), 9)
    return (soft / soft.std() * contrast + 130).astype(np.float32)


def seen(places, lifted, ground, *, moved=None, noise=3.0, wings=True):
    """The animal of each frame, with the body's middle at ``places``; wings stand ``lifted`` px above or below it."""
    rng, animals = np.random.default_rng(4), []
    for k, ((x, y), lift) in enumerate(zip(places, lifted, strict=True)):
        shift = (0.0, 0.0) if moved is None else moved[k]
        picture = cv2.warpAffine(ground, np.float32([[1, 0, shift[0]], [0, 1, shift[1]]]), (COLS, ROWS),
                                 borderMode=cv2.BORDER_REFLECT)  # fmt: skip
        mask = np.zeros((ROWS, COLS), np.float32)
        if wings:
            root, tip = (round(x + 20), round(y)), (round(x + 5), round(y + lift))
            cv2.line(mask, root, tip, 0.7, 38)
            picture = picture * (1 - mask) + 215 * mask
        onto = np.float32([[1, 0, x - 90], [0, 1, y - 17]])
        rim = cv2.warpAffine(RIM, onto, (COLS, ROWS))
        picture = picture * (1 - rim) + cv2.warpAffine(BODY, onto, (COLS, ROWS)) * rim
        whole = ((mask > 0) | (rim > 0.5)).astype(np.uint8)
        left, top, wide, high = cv2.boundingRect(whole)
        outline = max(cv2.findContours(whole, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)[0], key=cv2.contourArea)
        picture = cv2.GaussianBlur(picture, (0, 0), 0.8) + rng.normal(0, noise, picture.shape)
        animals.append(animal(picture, Box(left, top, wide, high), outline[:, 0]))
    return animals


def animal(picture, box, outline):
    side = 1.55 * max(box.width_px, box.height_px)
    x, y = (middle - side / 2 for middle in box.centre_px)
    step = side / 96
    onto = np.float32([[step, 0, x + step / 2 - 0.5], [0, step, y + step / 2 - 0.5]])
    small = cv2.warpAffine(picture.astype(np.float32), onto, (96, 96), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
                           borderMode=cv2.BORDER_REPLICATE)  # fmt: skip
    jpeg = cv2.imencode(".jpg", np.clip(small, 0, 255).astype(np.uint8), (cv2.IMWRITE_JPEG_QUALITY, 90))[1].tobytes()
    points = tuple((float(px), float(py)) for px, py in outline)
    edges = (9.0, 9.0, 9.0, 9.0)
    return Animal(box, 0.9, Origin.FOUND, None, points, 0.2, False, edges, 0.0, 0.0, 0.5, None, 0,
                  Cutout(x, y, side, jpeg))  # fmt: skip


def strayed(places, told):
    """How far the told places stray from a fixed point of the body, in its lengths, per axis."""
    off = np.column_stack([told.x_px, told.y_px]) - places
    return float(np.sqrt(np.nanvar(off, axis=0).mean()) / BODY.shape[1])


@pytest.fixture(scope="module")
def flight():
    """Twelve places on a curve, and wings that beat in a little over four frames."""
    k = np.arange(12)
    places = np.column_stack([200 + 40.3 * k, 300 + 30 * np.sin(k / 3.0)])
    return places, 90 * np.sin(1.47 * k)


def test_the_body_is_placed_where_beating_wings_move_the_box(flight):
    places, lifted = flight
    animals = seen(places, lifted, ground_of(1))
    boxed = np.array([one.box.centre_px for one in animals]) - places
    told = body_places(animals, [(0.0, 0.0)] * 12)
    assert np.all(np.isfinite(told.x_px))
    assert np.sqrt(boxed.var(0).mean()) / BODY.shape[1] > 0.1
    assert strayed(places, told) < 0.01


@pytest.mark.parametrize(("contrast", "least_told"), [(30.0, 10), (60.0, 0)])
def test_a_ground_that_looks_more_alike_than_the_animal_is_not_taken_for_it(contrast, least_told, flight):
    places, lifted = flight
    # The camera is held: all that is behind stays where it is. Where it is sharper than the animal, nothing is told.
    told = body_places(seen(places, lifted, ground_of(2, contrast)), [(0.0, 0.0)] * 12)
    known = np.isfinite(told.x_px)
    assert known.sum() >= least_told
    assert not known.any() or strayed(places[known], BodyPlaces(told.x_px[known], told.y_px[known])) < 0.02


def test_an_animal_that_is_followed_stands_still_while_the_ground_passes(flight):
    _, lifted = flight
    still = np.tile([450.0, 300.0], (12, 1))
    moved = np.column_stack([-37.0 * np.arange(12), np.zeros(12)])
    animals = seen(still, lifted, ground_of(5), moved=moved)
    told = body_places(animals, [None, *map(tuple, np.diff(moved, axis=0))])
    assert strayed(still, told) < 0.01


def test_a_frame_that_shows_another_thing_is_told_by_its_box_alone(flight):
    places, lifted = flight
    animals = seen(places, lifted, ground_of(1))
    other = np.random.default_rng(8).integers(0, 255, (96, 96), dtype=np.uint8)
    wrong = animals[5].cutout
    jpeg = cv2.imencode(".jpg", other)[1].tobytes()
    swapped = [*animals]
    swapped[5] = replace(animals[5], cutout=Cutout(wrong.x_px, wrong.y_px, wrong.side_px, jpeg))
    told = body_places(swapped, [(0.0, 0.0)] * 12)
    assert np.isnan(told.x_px[5])
    assert np.isfinite(np.delete(told.x_px, 5)).all()
    assert strayed(np.delete(places, 5, 0), BodyPlaces(np.delete(told.x_px, 5), np.delete(told.y_px, 5))) < 0.01


def test_too_few_frames_and_frames_without_cutouts_tell_nothing(flight):
    places, lifted = flight
    animals = seen(places, lifted, ground_of(1))
    assert np.isnan(body_places(animals[:2], [None, None]).x_px).all()
    blind = [replace(one, cutout=None) for one in animals]
    assert np.isnan(body_places(blind, [None] * 12).y_px).all()


def test_places_lie_about_the_middles_of_the_boxes(flight):
    places, lifted = flight
    animals = seen(places, lifted, ground_of(1))
    told = body_places(animals, [(0.0, 0.0)] * 12)
    middles = np.array([one.box.centre_px for one in animals])
    assert np.median(told.x_px - middles[:, 0]) == pytest.approx(0, abs=1e-6)
    assert np.median(told.y_px - middles[:, 1]) == pytest.approx(0, abs=1e-6)
