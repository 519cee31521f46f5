"""The colours of the ISCC-NBS system: the middle of each of its named blocks of the Munsell solid, as sRGB.

Figures of the Inter-Society Color Council and the US National Bureau of Standards: Kenneth L. Kelly and Deanne B. Judd,
"Color: Universal Language and Dictionary of Names", NBS Special Publication 440, 1976. The conversion to sRGB is the
one that is passed on with open dictionaries of colour names; read 2026-11-26. "Deep yellowish pink" is left out: its
figures there are those of a reddish orange, a misprint.
"""

__all__ = ["CENTROIDS"]

CENTROIDS = (
    ("black", "plain 222222"),
    (
        "blue",
        "blackish 202830, brilliant 4997d0, dark 00304e, dark grayish 36454f, deep 00416a, grayish 536878, "
        "light 70a3cc, moderate 436b95, pale 91a3b0, strong 0067a5, very light a1caf1, very pale bcd4e6, "
        "vivid 00a1c2",
    ),
    ("bluish black", "plain 202428"),
    ("bluish gray", "plain 81878b, dark 51585e, light b4bcc0"),
    (
        "bluish green",
        "brilliant 00a693, dark 004b49, deep 00443f, light 66ada4, moderate 317873, strong 007a74, "
        "very dark 002a29, very light 96ded1, vivid 008882",
    ),
    ("bluish white", "plain e9e9ed"),
    (
        "brown",
        "dark 422518, dark grayish 3e322c, deep 593319, grayish 635147, light a67b5b, "
        "light grayish 958070, moderate 6f4e37, strong 80461b",
    ),
    ("brownish black", "plain 28201c"),
    ("brownish gray", "plain 5b504f, light 8e8279"),
    ("brownish orange", "plain ae6938"),
    ("brownish pink", "plain c2ac99"),
    ("gray", "dark 555555, light b9b8b5, medium 848482"),
    (
        "green",
        "blackish 1a2421, brilliant 3eb489, dark grayish 3a4b47, dark 1b4d3e, deep 00543d, grayish 5e716a, "
        "light 6aab8e, moderate 3b7861, pale 8da399, strong 007959, very dark 1c352d, very light 8ed1b2, "
        "very pale c7e6d7, vivid 008856",
    ),
    ("greenish black", "plain 1e2321"),
    (
        "greenish blue",
        "brilliant 239eba, dark 004958, deep 2e8495, light 66aabc, moderate 367588, strong 007791, "
        "very dark 002e3b, very light 9cd1dc, vivid 0085a1",
    ),
    ("greenish gray", "dark 4e5755, plain 7d8984, light b2beb5"),
    ("greenish white", "plain dfede8"),
    (
        "greenish yellow",
        "brilliant e9e450, dark 98943e, deep 9b9400, grayish b9b57d, light eae679, moderate b9b459, "
        "pale ebe8a4, strong beb72e, vivid dcd300",
    ),
    ("olive", "dark grayish 363527, dark 403d21, grayish 5b5842, light grayish 8c8767, light 867e36, moderate 665d1e"),
    ("olive black", "plain 25241d"),
    ("olive brown", "dark 3b3121, light 967117, moderate 6c541e"),
    ("olive gray", "light 8a8776, plain 57554c"),
    ("olive green", "dark grayish 31362b, dark 2b3d26, deep 232f00, grayish 515744, moderate 4a5d23, strong 404f00"),
    ("orange", "brilliant fd943f, deep be6516, light fab57f, moderate d99058, strong ed872d, vivid f38400"),
    (
        "orange yellow",
        "brilliant ffc14f, dark be8a3d, deep c98500, light fbc97f, moderate e3a857, pale fad6a5, "
        "strong eaa221, vivid f6a600",
    ),
    (
        "pink",
        "dark c08081, deep e4717a, grayish c4aead, light f9ccca, moderate dea5a4, pale ead8d7, "
        "strong ea9399, vivid ffb5ba",
    ),
    ("pinkish gray", "plain c1b6b3"),
    ("pinkish white", "plain eae3e1"),
    (
        "purple",
        "blackish 291e29, brilliant d399e6, dark grayish 50404d, dark 563c5c, deep 602f6b, grayish 796878, "
        "light b695c0, moderate 86608e, pale aa98a9, strong 875692, very dark 301934, very deep 401a4c, "
        "very light d5badb, very pale d6cadd, vivid 9a4eae",
    ),
    ("purplish black", "plain 242124"),
    (
        "purplish blue",
        "brilliant 6c79b8, dark 252440, deep 272458, grayish 4c516d, light 8791bf, moderate 4e5180, "
        "pale 8c92ac, strong 545aa7, very light b3bce2, very pale c0c8e1, vivid 30267a",
    ),
    ("purplish gray", "dark 5d555b, light bfb9bd, plain 8b8589"),
    (
        "purplish pink",
        "brilliant ffc8d6, dark c17e91, deep de6fa1, grayish c3a6b1, light efbbcc, moderate d597ae, "
        "pale e8ccd7, strong e68fac",
    ),
    (
        "purplish red",
        "dark 673147, deep 78184a, grayish 915f6d, light grayish af868e, moderate a8516e, strong b3446c, "
        "very dark 38152c, very deep 54133b, vivid ce4676",
    ),
    ("purplish white", "plain e8e3e5"),
    (
        "red",
        "blackish 2e1d21, dark grayish 543d3f, dark 722f37, deep 841b2d, grayish 905d5d, "
        "light grayish ad8884, moderate ab4e52, strong bc3f4a, very dark 3f1728, very deep 5c0923, "
        "vivid be0032",
    ),
    ("reddish black", "plain 282022"),
    (
        "reddish brown",
        "dark grayish 43302e, dark 3e1d1e, deep 56070c, grayish 674c47, light grayish 977f73, "
        "light a87c6d, moderate 79443b, strong 882d17",
    ),
    ("reddish gray", "dark 5c504f, plain 8f817f"),
    ("reddish orange", "dark 9e4732, deep aa381e, grayish b4745e, moderate cb6d51, strong d9603b, vivid e25822"),
    (
        "reddish purple",
        "dark 5d3954, deep 702963, grayish 836479, light b784a7, moderate 915c83, pale aa8a9e, "
        "strong 9e4f88, very dark 341731, very deep 54194e, vivid 870074",
    ),
    (
        "violet",
        "brilliant 7e73b8, dark 2f2140, deep 32174d, grayish 554c69, light 8c82b6, moderate 604e81, "
        "pale 9690ab, strong 604e97, very light dcd0ff, very pale c4c3dd, vivid 9065ca",
    ),
    ("white", "plain f2f3f4"),
    (
        "yellow",
        "brilliant fada5e, dark grayish a18f60, dark ab9144, deep af8d13, grayish c2b280, light f8de7e, "
        "moderate c9ae5d, pale f3e5ab, strong d4af37, vivid f3c300",
    ),
    (
        "yellow green",
        "brilliant bdda57, deep 467129, grayish 8f9779, light c9dc89, moderate 8a9a5b, pale dadfb7, "
        "strong 7e9f2e, vivid 8db600",
    ),
    (
        "yellowish brown",
        "dark grayish 483c32, dark 4b3621, deep 654522, grayish 7e6d5a, light grayish ae9b82, "
        "light c19a6b, moderate 826644, strong 996515",
    ),
    ("yellowish gray", "plain bfb8a5"),
    (
        "yellowish green",
        "brilliant 83d37d, dark 355e3b, deep 00622d, light 93c592, moderate 679267, strong 44944a, "
        "very dark 173620, very deep 003118, very light b6e5af, vivid 27a64c",
    ),
    (
        "yellowish pink",
        "dark c48379, grayish c7ada3, light f4c2c2, moderate d9a6a9, pale ecd5c5, strong f99379, vivid ffb7a5",
    ),
    ("yellowish white", "plain f0ead6"),
)
"""Hue as the system words it, with each of its blocks: modifiers ("plain" for none) and sRGB, two hexadecimal digits a
channel."""
