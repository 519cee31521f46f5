"""What tuning and training never see: it appears only in the final table.

Training scripts and development benchmarks draw from the lists without these; `random_animal` and the random scenes
leave them out unless they are named.
"""

__all__ = ["HELD_OUT_ANIMALS", "HELD_OUT_BACKGROUNDS", "HELD_OUT_LIGHTS"]

HELD_OUT_ANIMALS = ("hoverfly",)
HELD_OUT_BACKGROUNDS = ("bark", "gravel")
HELD_OUT_LIGHTS = ("backlit",)
