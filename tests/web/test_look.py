"""The look, held to docs/look.md: contrast for sunlight, and a blur scale that any eye can order."""

import re
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

REPOSITORY = Path(__file__).parents[2]
STYLE = REPOSITORY / "src/stillwing/web/static/look.css"
LOOK = REPOSITORY / "docs/look.md"
OUR_OWN = STYLE.parent
LIGHT, DARK = 0, 1
BLUR_STEPS = [f"--blur-{step}" for step in range(7)]

# Full-strength matrices in linear RGB: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based
# Model for Simulation of Color Vision Deficiency", IEEE TVCG 15 (2009) 1291, supplementary table, severity 1.0.
EYES = {
    "normal": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanopia": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}


def tokens() -> dict[str, tuple[str, str]]:
    """Return the light and dark value of each colour of the style sheet."""
    found = re.findall(r"^  (--[\w-]+): light-dark\((#\w{6}), (#\w{6})\);", STYLE.read_text(), re.M)
    return {name: (light, dark) for name, light, dark in found}


def linear(colour: str) -> NDArray[np.float64]:
    """Return a colour as linear RGB, by IEC 61966-2-1."""
    stored = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(stored <= 0.04045, stored / 12.92, ((stored + 0.055) / 1.055) ** 2.4)


def luminance(rgb: NDArray[np.float64]) -> float:
    return float(np.clip(rgb, 0, 1) @ [0.2126, 0.7152, 0.0722])


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of WCAG 2.2."""
    low, high = sorted(luminance(linear(colour)) for colour in (one, other))
    return (high + 0.05) / (low + 0.05)


def lightness(rgb: NDArray[np.float64]) -> float:
    """Return CIELAB L* (CIE 15:2004)."""
    y = luminance(rgb)
    return 116 * y ** (1 / 3) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3


def documented() -> list[tuple[str, str, str, float | None]]:
    rows = re.findall(r"^\| `(--[\w-]+)` \| `(#\w+)` \| `(#\w+)` \| [^|]* \| ?(\d*) ?\|", LOOK.read_text(), re.M)
    return [(name, light, dark, float(least) if least else None) for name, light, dark, least in rows]


def test_the_page_about_the_look_lists_all_eight_colours() -> None:
    assert len(documented()) == 8


@pytest.mark.parametrize(("name", "light", "dark", "least"), documented())
def test_the_style_sheet_has_the_documented_colour_and_contrast(
    name: str, light: str, dark: str, least: float | None
) -> None:
    held = tokens()
    assert held[name] == (light, dark)
    if least is not None:
        for scheme in (LIGHT, DARK):
            assert contrast(held[name][scheme], held["--paper"][scheme]) >= least
            assert contrast(held[name][scheme], held["--raised"][scheme]) >= least


@pytest.mark.parametrize("scheme", [LIGHT, DARK])
@pytest.mark.parametrize("words", ["--ink", "--ink-soft", "--accent"])
def test_words_can_be_read_in_sunlight_on_the_tinted_ground_too(words: str, scheme: int) -> None:
    assert contrast(tokens()[words][scheme], tokens()["--wash"][scheme]) >= 7


@pytest.mark.parametrize("scheme", [LIGHT, DARK])
@pytest.mark.parametrize("eye", EYES)
def test_the_blur_scale_keeps_its_order_for_any_eye(eye: str, scheme: int) -> None:
    steps = [lightness(EYES[eye] @ linear(tokens()[name][scheme])) for name in BLUR_STEPS]
    towards_paper = np.diff(steps) * (1 if scheme == LIGHT else -1)
    assert towards_paper.min() >= 6


@pytest.mark.parametrize(
    "path", sorted({*OUR_OWN.glob("*.css"), *OUR_OWN.glob("*.js")} - {STYLE}), ids=lambda path: path.name
)
def test_colours_have_one_home(path: Path) -> None:
    allowed = {"#ffffff", "#000000"}  # outlines over pictures, which must stand out from any of them
    assert set(re.findall(r"#[0-9a-fA-F]{6}\b", path.read_text())) <= allowed


@pytest.mark.parametrize("path", sorted(OUR_OWN.parent.rglob("*.*")), ids=lambda path: path.name)
def test_nothing_is_fetched_from_elsewhere(path: Path) -> None:
    if path.suffix in {".css", ".js", ".html", ".svg"}:
        found = set(re.findall(r"https?://[^\s\"'`<>]+", path.read_text()))
        assert found <= {"http://www.w3.org/2000/svg"}
