"""Weights of evidence and what an answer would tell, in words."""

__all__ = ["LEAST_BITS", "gain_words", "weight_words"]

LEAST_BITS = 0.1
"""A weight that is nearer to nothing is told as none (a choice, no source). [bit]"""
MOST_TIMES = 100
TELLS_MUCH_BITS, TELLS_SOME_BITS = 0.7, 0.3
"""From here on an answer is said to tell much, or something (a choice, no source). [bit]"""


def weight_words(weight_bits: float) -> str:
    """Return how many times likelier a piece makes a candidate, in words.

    Examples
    --------
    >>> weight_words(1.0), weight_words(-3.0), weight_words(0.02), weight_words(9.0)
    ('2 times likelier', '8 times less likely', 'neither for nor against', 'over 100 times likelier')
    """
    if abs(weight_bits) < LEAST_BITS:
        return "neither for nor against"
    way = "likelier" if weight_bits > 0 else "less likely"
    times = 2 ** abs(weight_bits)
    if times > MOST_TIMES:
        return f"over {MOST_TIMES} times {way}"
    figure = f"{times:.1f}".removesuffix(".0") if times < 3 else f"{times:.0f}"
    return f"{figure} times {way}"


def gain_words(gain_bits: float) -> str:
    """Return how much an answer is expected to tell, in words.

    Examples
    --------
    >>> gain_words(0.82), gain_words(0.41), gain_words(0.12), gain_words(0.01)
    ('tells much', 'tells something', 'tells a little', 'tells hardly anything')
    """
    if gain_bits >= TELLS_MUCH_BITS:
        return "tells much"
    if gain_bits >= TELLS_SOME_BITS:
        return "tells something"
    return "tells a little" if gain_bits >= LEAST_BITS else "tells hardly anything"
