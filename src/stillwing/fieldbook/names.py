"""Names as the field book keeps and compares them: kits, sites."""

import unicodedata

__all__ = ["name_key", "tidy_name"]


def name_key(name: str) -> str:
    """Return a name as it is compared: two that differ only in capitals or in the width of a gap are one name.

    Examples
    --------
    >>> name_key("Long  Lens") == name_key(" long lens")
    True
    """
    # SQLite's own NOCASE knows the 26 letters of ASCII only.
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def tidy_name(name: str) -> str:
    """Return a name as it is kept: without blanks around it, and with one for each gap; "" where nothing is left."""
    return " ".join(name.split())
