"""Made-up records of animals whose species is known: drawn as the model says, or in a world that differs from it."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.catalogue import Group
from stillwing.fieldbook.moment import MomentKind
from stillwing.optics.subject import Range
from stillwing.records.animalseen import TURNED_WRONG
from stillwing.records.behaviourchances import OFTEN_DOES, Deed
from stillwing.records.colourchances import EFFECTIVE_PATCHES, STEADINESS, expected_shares
from stillwing.records.flightchances import about_on
from stillwing.records.lengthchances import MOST_TILT_DEG, length_law
from stillwing.records.likelihoods import GROUP_WRONG, SEX_WRONG
from stillwing.records.region import Region
from stillwing.records.seen import CHANCE_WRONG, LINE_WRONG, Answer, Seen, colour_names
from stillwing.records.statusweights import status_weights
from stillwing.records.traitchances import SEXES, like_its_kin, shown_in, state_chances

Reals = NDArray[np.float64]

FIRST_DAY, LAST_DAY = date(2024, 5, 1), date(2024, 10, 20)
"""When a photographer is out; any day alike."""
INTERVAL_SD = 1.645
LENGTH_ERROR = (0.04, 0.10)
"""Standard deviation of a measured length, as a share: of most pictures; docs/bodylength.md."""
HAS_LENGTH, HAS_NO_TOP, UNCHECKED, HAS_GROUP, HAS_SEX, HAS_COLOURS, HAS_DEED, HAS_ANSWER = (
    0.8,
    0.3,
    0.5,
    0.9,
    0.5,
    0.5,
    0.4,
    0.15,
)
"""How often a record has each of these; the last holds for every character. Unchecked are lengths without an
upper end whose line nobody looked at."""
A_MOMENT = {Deed.HOVERED: MomentKind.HOVER, Deed.PASSED: MomentKind.PASS, Deed.SETTLED: MomentKind.PERCH}


@dataclass(frozen=True, slots=True)
class World:
    """In what a world differs from the model; as it stands, in nothing."""

    errs: float = 1.0
    """How many times as often people and tables err."""
    rarity_power: float = 1.0
    """Below 1, the rare are met more often than the model says."""
    season_shift_d: int = 0
    length_bias: float = 0.0
    """By how much lengths are measured too long, as a share."""
    interval: float = 1.0
    """True error of a length over the error told."""
    steadiness: float = STEADINESS
    mistaken: float = 0.0
    """Share of records in which every answer is that of another species of the family, taken for it."""


OWN = World()
OTHER = World(
    errs=2.0,
    rarity_power=0.7,
    season_shift_d=10,
    length_bias=-0.03,
    interval=1.3,
    steadiness=STEADINESS / 2,
    mistaken=0.03,
)


class Records:
    """Draws records of a region in a world; the same seed draws the same."""

    def __init__(self, region: Region, world: World, seed: int) -> None:
        self.region, self.world, self.rng = region, world, np.random.default_rng(seed)
        shown = shown_in(region)
        self.answers = {
            key: like_its_kin(
                state_chances(own, min(CHANCE_WRONG[own.character.shows] * world.errs, 0.6)), own.is_told, region
            )
            for key, own in shown.items()
        }
        self.shares, _ = expected_shares(region, shown)
        self.shown = shown
        self.prior = status_weights(region, None) ** world.rarity_power

    def draw(self, answered: float = HAS_ANSWER) -> tuple[int, int, Seen]:
        """Return species and sex by their numbers, and what is seen of the animal."""
        on, number = self._met()
        sex = int(self.rng.integers(2))
        like = self._taken_for(number)
        named = [self.answer(key, like, sex) for key in self.answers if self.rng.random() < answered]
        has_top = self.rng.random() >= HAS_NO_TOP
        wrong = TURNED_WRONG if not has_top and self.rng.random() < UNCHECKED else LINE_WRONG
        # As often again as people err, but never always.
        is_wrong = bool(self.rng.random() < 1 - (1 - wrong) ** self.world.errs)
        return (
            number,
            sex,
            Seen(
                on=on,
                length_mm=self._length(number, has_top, is_wrong) if self.rng.random() < HAS_LENGTH else None,
                length_wrong=wrong,
                colours_wrong=wrong,
                group=self.group(number) if self.rng.random() < HAS_GROUP else None,
                sex=SEXES[sex ^ int(self._errs(SEX_WRONG))] if self.rng.random() < HAS_SEX else Seen().sex,
                answers=tuple(named),
                colours=self._colours(number, sex, is_wrong) if self.rng.random() < HAS_COLOURS else {},
                doing=frozenset({self._deed(number, sex)}) if self.rng.random() < HAS_DEED else frozenset(),
            ),
        )

    def strange(self) -> Seen:
        """Return what is seen of an animal that is like none: every state, length and colour by chance."""
        seen = self.draw(0.0)[2]
        states = {key: own.character.states for key, own in self.shown.items()}
        answers = tuple(Answer(key, (each[self.rng.integers(len(each))],)) for key, each in states.items())
        likely = float(np.exp(self.rng.uniform(np.log(15.0), np.log(150.0))))
        return replace(seen, answers=answers, length_mm=Range(likely / 1.12, likely, likely * 1.12), colours={})

    def answer(self, key: str, number: int, sex: int) -> Answer:
        """Return what a person says of a character of a species."""
        chances = self.answers[key][number, sex]
        states = self.shown[key].character.states
        return Answer(key, (states[self.rng.choice(len(states), p=chances / chances.sum())],))

    def _taken_for(self, number: int) -> int:
        """Return whose characters a person sees: those of the species, or of one of its family taken for it."""
        if self.rng.random() >= self.world.mistaken:
            return number
        own = self.region.species[number].family
        return int(self.rng.choice([k for k, each in enumerate(self.region.species) if each.family == own]))

    def _met(self) -> tuple[date, int]:
        on = FIRST_DAY + timedelta(days=int(self.rng.integers((LAST_DAY - FIRST_DAY).days + 1)))
        day = float((on + timedelta(days=self.world.season_shift_d)).timetuple().tm_yday)
        about = about_on([each.flight for each in self.region.species], np.array([day]))[:, 0]
        chances = self.prior * about
        return on, int(self.rng.choice(chances.size, p=chances / chances.sum()))

    def _length(self, number: int, has_top: bool, is_wrong: bool) -> Range:
        middle, spread = length_law(self.region.species[number].body_length)
        error = self.rng.uniform(*LENGTH_ERROR)
        seen = self.rng.normal(middle, spread) + np.log1p(self.world.length_bias)
        seen += self.rng.normal(0.0, error * self.world.interval)
        if is_wrong:
            seen = np.log(self.rng.uniform(15.0, 110.0))
        if not has_top:
            sine = self.rng.uniform(0.0, np.sin(np.radians(MOST_TILT_DEG)))
            seen += 0.5 * np.log1p(-(sine**2))
        likely, off = float(np.exp(np.clip(seen, np.log(8.0), np.log(200.0)))), INTERVAL_SD * error
        return Range(likely * np.exp(-off), likely, likely * np.exp(off) if has_top else np.inf)

    def group(self, number: int) -> Group:
        """Return the suborder that a person names."""
        own = self.region.species[number].family.group
        others = {each.family.group for each in self.region.species} - {own}
        return min(others) if others and self._errs(GROUP_WRONG) else own

    def _colours(self, number: int, sex: int, is_wrong: bool) -> dict[str, float]:
        own = self.shares[number, sex]
        expected = np.full_like(own, 1 / own.size) if is_wrong else own
        shares = self.rng.dirichlet(self.world.steadiness * expected)
        counts = self.rng.multinomial(int(EFFECTIVE_PATCHES), shares / shares.sum())
        return dict(zip(colour_names(self.region), (counts / EFFECTIVE_PATCHES).tolist(), strict=True))

    def _deed(self, number: int, sex: int) -> MomentKind:
        own = self.shown["perching"]
        states = own.shown[number, sex]
        seldom = states[own.character.states.index("seldom settles")] / max(int(states.sum()), 1)
        chances = [seldom * flier + (1 - seldom) * percher for flier, percher in OFTEN_DOES.values()]
        return A_MOMENT[list(OFTEN_DOES)[self.rng.choice(len(chances), p=np.array(chances) / sum(chances))]]

    def _errs(self, chance: float) -> bool:
        return bool(self.rng.random() < min(chance * self.world.errs, 1.0))
