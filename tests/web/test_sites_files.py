"""Files that a page hands over."""

import pytest

from stillwing.web.sites_files import as_file, file_stem


@pytest.mark.parametrize(
    ("parts", "stem"),
    [
        (("mill pond", "2026-07-15"), "mill-pond-2026-07-15"),
        (("../../etc/passwd",), "etc-passwd"),
        (("Å & <b>",), "å-b"),
        (("///",), "stillwing"),
        (("x" * 300,), "x" * 80),
    ],
)
def test_a_stem_holds_letters_figures_and_hyphens_alone(parts: tuple[str, ...], stem: str) -> None:
    assert file_stem(*parts) == stem


def test_a_name_beyond_ascii_comes_in_both_forms() -> None:
    # RFC 6266, section 4.3 and appendix D: filename for the old, filename* for all others.
    told = as_file("{}", "mühle.geojson", "application/geo+json").headers
    assert told["content-disposition"] == "attachment; filename=\"muhle.geojson\"; filename*=UTF-8''m%C3%BChle.geojson"
    assert told["content-type"] == "application/geo+json"
