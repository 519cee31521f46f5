"""Light in words, as a meter reading and as photometric quantities, all as the exposure value at ISO 100 (EV100)."""

import re
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.errors import InputError, UnknownThing
from stillwing.optics.engraved import read_exposure, read_f_number, read_iso
from stillwing.optics.exposure import ILLUMINANCE_CONSTANT, LUMINANCE_CONSTANT, ev100
from stillwing.optics.reals import positive, within

__all__ = [
    "LIT_FROM",
    "TYPICAL_EV",
    "TypicalLight",
    "ev_of_illuminance",
    "ev_of_luminance",
    "ev_of_words",
    "illuminance",
    "light_of",
    "luminance",
    "meter",
]


@dataclass(frozen=True, slots=True)
class TypicalLight:
    """The exposure values at ISO 100 of one kind of light, lowest and highest."""

    low_ev: float
    high_ev: float
    from_one_side: bool = False
    """Whether things have a lit and a shadow side; the values are those of the lit one."""

    @property
    def ev(self) -> float:
        """The middle of both."""
        return (self.low_ev + self.high_ev) / 2


TYPICAL_EV: Final = {
    "bright sand or snow": TypicalLight(16, 16, from_one_side=True),
    "sun": TypicalLight(15, 15, from_one_side=True),
    "hazy sun": TypicalLight(14, 14, from_one_side=True),
    "cloudy bright": TypicalLight(13, 13),
    "overcast": TypicalLight(12, 12),
    "open shade": TypicalLight(12, 12),
    "before sunset": TypicalLight(12, 14),
    "sunset": TypicalLight(12, 12),
    "after sunset": TypicalLight(9, 11),
    "moonlight": TypicalLight(-3, -2),
}
"""Typical light of ANSI PH2.7-1973 and PH2.7-1986, as encyclopaedias quote them (read there).

Sun stands from two hours after sunrise to two hours before sunset; cloudy bright casts no shadows; overcast is heavy;
open shade lies under a clear sky; moonlight is a landscape under a full moon more than 40 degrees up.
"""
LIT_FROM: Final = {"front": 0.0, "side": -1.0, "back": -2.0}
"""Stops to add where the sun comes from there, seen from the camera (same source)."""


def luminance(ev100: ArrayLike) -> NDArray[np.float64]:
    """Return the mean luminance that is rendered mid-grey at this exposure value, shape (...): 2^EV K/100. [cd/m2]

    Raises
    ------
    OutsideModel
        If the exposure value is not -40 to 60; so in `illuminance`.

    Examples
    --------
    >>> float(luminance(15))
    4096.0
    """
    return np.asarray(LUMINANCE_CONSTANT / 100 * np.exp2(_ev(ev100)), np.float64)


def illuminance(ev100: ArrayLike) -> NDArray[np.float64]:
    """Return the illuminance on a flat receptor at this exposure value, shape (...): 2^EV C/100. [lx]

    Examples
    --------
    >>> float(illuminance(15))
    81920.0
    """
    return np.asarray(ILLUMINANCE_CONSTANT / 100 * np.exp2(_ev(ev100)), np.float64)


def ev_of_luminance(luminance_cd_m2: ArrayLike) -> NDArray[np.float64]:
    """Return the exposure value at ISO 100 of a mean luminance [cd/m2], shape (...); `OutsideModel` unless positive."""
    return np.asarray(
        np.log2(positive("luminance_cd_m2", luminance_cd_m2, "cd/m2") * 100 / LUMINANCE_CONSTANT), np.float64
    )


def ev_of_illuminance(illuminance_lx: ArrayLike) -> NDArray[np.float64]:
    """Return the exposure value at ISO 100 of an illuminance [lx], shape (...); `OutsideModel` unless positive.

    Examples
    --------
    >>> round(float(ev_of_illuminance(100_000)), 2)
    15.29
    """
    return np.asarray(
        np.log2(positive("illuminance_lx", illuminance_lx, "lx") * 100 / ILLUMINANCE_CONSTANT), np.float64
    )


def ev_of_words(words: str, lit_from: str = "front") -> float:
    """Return the exposure value at ISO 100 of light in words.

    Parameters
    ----------
    words : str
        A key of `TYPICAL_EV`; capitals, hyphens and spaces do not matter.
    lit_from : str, default "front"
        A key of `LIT_FROM`: where the sun comes from, seen from the camera.

    Raises
    ------
    UnknownThing
        If a word is none of those; the message lists them.
    InputError
        If light that comes from everywhere shall come from side or back.

    Examples
    --------
    >>> ev_of_words("sun"), ev_of_words("Hazy sun", "side")
    (15.0, 13.0)
    """
    name = " ".join(words.casefold().replace("-", " ").split())
    if name not in TYPICAL_EV:
        raise UnknownThing(f"light {words!r} is not known; it is one of {', '.join(TYPICAL_EV)}")
    if lit_from not in LIT_FROM:
        raise UnknownThing(f"light from {lit_from!r} is not known; it is one of {', '.join(LIT_FROM)}")
    light = TYPICAL_EV[name]
    if LIT_FROM[lit_from] and not light.from_one_side:
        raise InputError(f"{name} lights all sides alike; leave out {lit_from!r}")
    return light.ev + LIT_FROM[lit_from]


def meter(reading: str) -> float:
    """Return the exposure value at ISO 100 of a meter reading such as "1/1000 f/8 ISO 400" or "EV 13".

    Parameters
    ----------
    reading : str
        Exposure time, f-number and ISO in any order, commas and a unit "s" allowed; or an exposure value at ISO 100.

    Raises
    ------
    InputError
        If a part is missing, comes twice or cannot be read.
    OutsideModel
        If a part is beyond anything ever built.

    Examples
    --------
    >>> round(meter("1/1000 f/8 ISO 400"), 2)
    13.97
    """
    direct = re.fullmatch(r"\s*EV\s*([+-]?\d+(?:\.\d+)?)\s*", reading, re.IGNORECASE)
    if direct:
        return float(_ev(float(direct[1])))
    rest = f" {reading} ".replace(",", " ")
    found: dict[str, str] = {}
    for name, pattern in _PARTS.items():
        parts = re.findall(pattern, rest, re.IGNORECASE)
        if len(parts) != 1:
            wrong = "lacks" if not parts else "has more than one"
            raise InputError(f"the meter reading {reading!r} {wrong} {name}; write it like '1/1000 f/8 ISO 400'")
        found[name] = parts[0]
        rest = re.sub(pattern, " ", rest, flags=re.IGNORECASE)
    if rest.strip():
        raise InputError(
            f"{rest.strip()!r} in the meter reading {reading!r} is not understood; write it like '1/1000 f/8 ISO 400'"
        )
    exposure, f_number, iso = found["exposure time"], found["f-number"], found["ISO"]
    return float(ev100(read_f_number(f_number), read_exposure(exposure), read_iso(iso)))


def light_of(text: str) -> float:
    """Return the exposure value at ISO 100 of light as people give it: in words, as a figure or as a meter reading.

    Parameters
    ----------
    text : str
        "sun", "hazy sun from the side", "EV 13" or "13", "1/1000 f/8 ISO 400".

    Raises
    ------
    UnknownThing
        If it is none of these; the message says what there is.
    InputError, OutsideModel
        As `ev_of_words` and `meter` do.

    Examples
    --------
    >>> light_of("sun from the back"), light_of("13.5")
    (13.0, 13.5)
    """
    if re.search(r"\bISO\b|\bf\s*/", text, re.IGNORECASE):
        return meter(text)
    figure = re.fullmatch(r"\s*(?:EV)?\s*([+-]?\d+(?:[.,]\d+)?)\s*", text, re.IGNORECASE)
    if figure:
        return float(_ev(float(figure[1].replace(",", "."))))
    words, _, side = text.casefold().partition(" from ")
    lit_from = side.replace("the ", "").strip() or "front"
    if " ".join(words.replace("-", " ").split()) not in TYPICAL_EV:
        raise UnknownThing(
            f"light {text!r} is not known; write one of {', '.join(TYPICAL_EV)}, a figure such as 'EV 13', "
            "or a meter reading such as '1/1000 f/8 ISO 400'"
        )
    return ev_of_words(words, lit_from)


_PARTS: Final = {
    "ISO": r"(?<=\s)ISO\s*(\d+(?:\.\d+)?)(?=\s)",
    "f-number": r"(?<=\s)f\s*/?\s*(\d+(?:\.\d+)?)(?=\s)",
    "exposure time": r"(?<=\s)(\d+(?:\.\d+)?(?:/\d+(?:\.\d+)?(?:\s*s(?:ec)?)?|\s*s(?:ec)?))(?=\s)",
}
"""Parts of a meter reading; ISO and f-number come first, so that what is left is the time."""


def _ev(value: ArrayLike) -> NDArray[np.float64]:
    return within("ev100", value, -40.0, 60.0, "EV")
