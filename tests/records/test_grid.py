import math

import pyproj
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pyproj import Geod

from stillwing.errors import InputError, OutsideModel
from stillwing.records.grid import Grid, coarser, read_square, side_for, sides_of, square_at
from stillwing.records.gridletters import GridMetres
from stillwing.records.gridplaces import grid_at
from stillwing.records.gridshift import BRITISH, IRISH

WGS84 = Geod(ellps="WGS84")
OS_GUIDE = (
    "Ordnance Survey, A guide to coordinate systems in Great Britain, v2.4 2015, annexe C (as quoted in test code)"
)
OS_OSTN15 = "Ordnance Survey, Transformations and OSGM15 User Guide, annexe A (as quoted by packages that carry OSTN15)"
EPSG_7_2 = "IOGP Guidance Note 7-2, Transverse Mercator (as quoted in test code)"
WIKIPEDIA_IRISH = 'Wikipedia, "Irish grid reference system"'
WIKIPEDIA_MGRS = 'Wikipedia, "Military Grid Reference System"'
CONVERTBNG = "computed with convertbng 2.0.0, OSTN15"

IN_BRITAIN = {"latitude": st.floats(50.2, 58.5), "longitude": st.floats(-5.0, 0.0)}


def dms(degrees: int, minutes: int, seconds: float) -> float:
    return degrees + minutes / 60 + seconds / 3600


# --- published values ---------------------------------------------------------------------------------------------


def test_the_british_projection_is_the_published_one() -> None:
    # A projection on its own datum: no shift is in it, so the grid's own centimetres must come out.
    projection = pyproj.Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        "+step" + BRITISH.pipeline.rsplit("+step", maxsplit=1)[1]
    )
    east, north = projection.transform(dms(1, 43, 4.5177), dms(52, 39, 27.2531))
    assert (east, north) == pytest.approx((651409.903, 313177.270), abs=0.001), OS_GUIDE
    assert projection.transform(0.5, 50.5) == pytest.approx((577274.99, 69740.50), abs=0.01), EPSG_7_2
    assert projection.transform(-2.0, 49.0) == pytest.approx((400000, -100000), abs=1e-6), "EPSG:27700"


def test_the_irish_projection_has_its_published_origin() -> None:
    projection = pyproj.Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        "+step" + IRISH.pipeline.rsplit("+step", maxsplit=1)[1]
    )
    assert projection.transform(-8.0, 53.5) == pytest.approx((200000, 250000), abs=1e-6), WIKIPEDIA_IRISH


def test_the_datum_shift_agrees_with_the_published_seven_parameter_result() -> None:
    latitude, longitude = BRITISH.place(GridMetres(651409.903, 313177.270))
    published = dms(52, 39, 28.723), dms(1, 42, 57.787), "pygeodesy documentation, osgr"
    assert latitude == pytest.approx(published[0], abs=0.0005 / 3600), published[2]
    assert longitude == pytest.approx(published[1], abs=0.0005 / 3600), published[2]


@pytest.mark.parametrize(
    ("latitude", "longitude", "easting", "northing", "source"),
    [
        (52.658007833, 1.716073973, 651409.804, 313177.450, OS_OSTN15),
        (52.205, 0.119, 544896.179, 258422.473, CONVERTBNG),
        (52.3105, 0.279, 555459.353, 270486.480, CONVERTBNG),
        (50.7184, -3.5339, 291813.424, 92098.387, CONVERTBNG),
        (50.875, -1.63, 426129.061, 108455.158, CONVERTBNG),
        (51.4816, -3.1791, 318218.599, 176508.850, CONVERTBNG),
        (55.9486, -3.1999, 325163.920, 673491.152, CONVERTBNG),
        (57.24, -3.7, 297496.496, 817869.884, CONVERTBNG),
        (60.155, -1.145, 447567.817, 1141474.522, CONVERTBNG),
    ],
)
def test_the_british_shift_is_off_by_less_than_the_error_it_states(
    latitude: float, longitude: float, easting: float, northing: float, source: str
) -> None:
    here = BRITISH.metres(latitude, longitude)
    off_m = math.hypot(here.easting_m - easting, here.northing_m - northing)
    assert 0.3 < off_m < BRITISH.shift_error_m, source
    # The same shift by pyproj's own choice of transformation, where it has no grid file, is not what is relied on.
    square = square_at(latitude, longitude, 10)
    true_square = (math.floor(easting / 10) * 10 + 5, math.floor(northing / 10) * 10 + 5)
    middle = square.easting_m + 5, square.northing_m + 5
    assert math.dist(middle, true_square) <= 10 * math.sqrt(2)
    assert math.dist(middle, (easting, northing)) <= square.uncertainty_m


def test_a_place_by_the_national_shift_lies_within_the_uncertainty_of_its_reference() -> None:
    tower = read_square("TG 51409 13177")
    away_m = WGS84.inv(tower.longitude, tower.latitude, 1.716073973, 52.658007833)[2]
    assert 3.0 < away_m < tower.uncertainty_m, OS_OSTN15
    assert tower.uncertainty_m == pytest.approx(0.5 * math.sqrt(2) / 0.9996 + 5, abs=0.001)


@pytest.mark.parametrize(
    "written", ["TG 51409 13177", "tg5140913177", " Tg 51409,13177 ", "TG5140913177", "T G 5140913177"]
)
def test_the_published_british_reference_is_read_as_people_write_it(written: str) -> None:
    square = read_square(written)
    assert (square.grid, square.reference, square.side_m) == (Grid.BRITISH, "TG5140913177", 1)
    assert (square.easting_m, square.northing_m) == (651409, 313177), OS_GUIDE


def test_six_figures_name_the_south_west_corner_of_100_m() -> None:
    ben = read_square("NN166712")
    assert ben == read_square("nn 166 712")
    assert (ben.easting_m, ben.northing_m, ben.side_m) == (216600, 771200, 100)  # from memory
    assert ben.uncertainty_m == pytest.approx(70.71 / 0.9996 + 5, abs=0.01)
    # The summit's latitude and longitude, 56.7969 N 5.0036 W (from memory), lie in or next to it.
    assert WGS84.inv(ben.longitude, ben.latitude, -5.0036, 56.7969)[2] < 150


def test_the_false_origin_is_the_corner_of_sv() -> None:
    assert (read_square("SV").easting_m, read_square("SV").northing_m) == (0, 0), (
        'Wikipedia, "Ordnance Survey National Grid"'
    )


@pytest.mark.parametrize(
    ("written", "easting", "northing", "side", "source"),
    [
        ("O1590434671", 315904, 234671, 1, WIKIPEDIA_IRISH),
        ("O 15904 34671", 315904, 234671, 1, WIKIPEDIA_IRISH),
        ("G0305", 103000, 305000, 1000, WIKIPEDIA_IRISH),
        ("N 000 500", 200000, 250000, 100, WIKIPEDIA_IRISH),
        ("N 00000 50000", 200000, 250000, 1, WIKIPEDIA_IRISH),
    ],
)
def test_published_irish_references_are_read(
    written: str, easting: float, northing: float, side: int, source: str
) -> None:
    square = read_square(written)
    assert (square.grid, square.easting_m, square.northing_m, square.side_m) == (Grid.IRISH, easting, northing, side), (
        source
    )


@pytest.mark.parametrize(
    ("latitude", "longitude", "easting", "northing", "name"),
    [
        (53.3498, -6.2603, 315900.6, 234671.4, "O15903467"),
        (54.5964, -5.93, 333837.7, 373987.5, "J33837398"),
        (53.2744, -9.049, 130068.1, 225380.8, "M30062538"),
        (54.62, -6.4, 303403.6, 375821.0, "J03407582"),
    ],
)
def test_irish_places_agree_with_the_registry_s_transformation(
    latitude: float, longitude: float, easting: float, northing: float, name: str
) -> None:
    # Computed with pyproj 3.7.2 (PROJ 9.5.1), EPSG:4326 to EPSG:29902.
    assert IRISH.metres(latitude, longitude) == pytest.approx((easting, northing), abs=0.06)
    assert square_at(latitude, longitude, 10).reference == name


def test_the_spire_of_dublin_is_as_near_as_its_rounded_degrees() -> None:
    here = IRISH.metres(53.3498, -6.2603)
    assert math.dist(here, (315904, 234671)) < 5.0, WIKIPEDIA_IRISH  # 0.00005 degrees are 3.3 to 5.6 m


@pytest.mark.parametrize(
    ("latitude", "longitude", "name"),
    [
        (38.8895, -77.0353, "18SUJ2347806483"),
        (21.3069, -157.8583, "4QFJ1841756542"),
        (-33.8568, 151.2153, "56HLH3490052288"),
        (51.5, -0.1275, "30UXC9936909341"),
        (60.3913, 5.3221, "32VKN9735300648"),  # the zone that is wider in south-west Norway
        (78.2232, 15.6267, "33XWG1427883355"),  # the wide zones of Svalbard
        (0.0, 0.0, "31NAA6602100000"),
        (-18.1416, 178.4419, "60KXE5253493550"),
        (-13.8333, -171.7667, "2LMK1714170577"),
        (-16.85, 180.0, "1KAB8029434610"),
        (-54.8019, -68.3030, "19FEV4480527029"),
    ],
)
def test_mgrs_names_of_places(latitude: float, longitude: float, name: str) -> None:
    # Computed with mgrs 1.6.0; the zone and the metres are checked here against PROJ's own UTM.
    square = square_at(latitude, longitude, 1, Grid.MGRS)
    assert square.reference == name
    zone = 32600 if latitude >= 0 else 32700
    utm = pyproj.Transformer.from_crs("EPSG:4326", f"EPSG:{zone + int(name[:-13])}", always_xy=True)
    east, north = utm.transform(longitude, latitude)
    assert (square.easting_m, square.northing_m) == (math.floor(east), math.floor(north))
    assert WGS84.inv(square.longitude, square.latitude, longitude, latitude)[2] <= square.uncertainty_m <= 0.71


def test_published_mgrs_references_are_read_with_and_without_a_zero() -> None:
    square = read_square("4QFJ12345678")
    assert square.side_m == 10, WIKIPEDIA_MGRS
    assert square == read_square("04Q FJ 1234 5678") == read_square("4q fj 1234 5678")
    assert square.spaced == "4Q FJ 1234 5678"
    assert square_at(21.3069, -157.8583, 10_000).reference == "4QFJ15", WIKIPEDIA_MGRS
    other = read_square("4Q FJ 1234 6789")
    place = dms(21, 24, 35.43), -dms(157, 54, 57.89)
    assert WGS84.inv(other.longitude, other.latitude, place[1], place[0])[2] <= other.uncertainty_m, WIKIPEDIA_MGRS


# --- which grid ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("latitude", "longitude", "grid"),
    [
        (49.914, -6.315, Grid.BRITISH),  # Scilly
        (60.155, -1.145, Grid.BRITISH),  # Shetland
        (57.81, -8.58, Grid.BRITISH),  # St Kilda
        (54.05, -4.82, Grid.BRITISH),  # Man, its south-west end
        (54.85, -5.17, Grid.BRITISH),  # the Rhinns of Galloway
        (55.29, -5.78, Grid.BRITISH),  # the Mull of Kintyre
        (55.6, -6.3, Grid.BRITISH),  # Islay, the Mull of Oa
        (51.13, 1.37, Grid.BRITISH),  # South Foreland
        (53.3, -4.69, Grid.BRITISH),  # Holyhead
        (51.88, -5.3, Grid.BRITISH),  # Pembrokeshire
        (55.29, -6.18, Grid.IRISH),  # Rathlin
        (54.45, -5.44, Grid.IRISH),  # the Ards
        (55.38, -7.37, Grid.IRISH),  # Malin Head
        (52.17, -6.36, Grid.IRISH),  # Carnsore
        (52.1, -10.4, Grid.IRISH),  # Dingle
        (49.72, -2.2, Grid.MGRS),  # Alderney
        (49.2, -2.1, Grid.MGRS),  # Jersey
        (50.87, 1.58, Grid.MGRS),  # Cap Gris-Nez
        (49.65, -1.62, Grid.MGRS),  # Cherbourg
        (62.0, -6.8, Grid.MGRS),  # Faroe
        (43.65, -79.38, Grid.MGRS),
    ],
)
def test_the_grid_is_the_one_used_at_the_place(latitude: float, longitude: float, grid: Grid) -> None:
    # Latitudes and longitudes of the headlands are from memory, good to a few kilometres.
    assert grid_at(latitude, longitude) is grid
    assert square_at(latitude, longitude, 100).grid is grid


# --- squares ------------------------------------------------------------------------------------------------------


def test_tetrads_are_counted_up_the_columns_from_the_south_west() -> None:
    rows = ["EJPUZ", "DINTY", "CHMSX", "BGLRW", "AFKQV"]  # DINTY: the usual name of the scheme
    for up, row in enumerate(reversed(rows)):
        for along, letter in enumerate(row):
            square = read_square(f"SU12{letter}")
            assert (square.easting_m, square.northing_m) == (410_000 + 2000 * along, 120_000 + 2000 * up)
            assert (square.side_m, square.spaced) == (2000, f"SU12{letter}")


def test_figures_are_cut_off_and_never_rounded() -> None:
    fine = read_square("TG 51999 13999")
    assert coarser(fine, 10).reference == "TG51991399"
    assert coarser(fine, 100).reference == "TG519139"
    assert coarser(fine, 1000).reference == "TG5113"
    assert coarser(fine, 2000).reference == "TG51B"  # 1 km east, 3 km north: first column, second row
    assert coarser(fine, 10_000).reference == "TG51"
    assert coarser(fine, 100_000).reference == "TG"
    assert coarser(read_square("4QFJ1299967899"), 1000).reference == "4QFJ1267"


@given(**IN_BRITAIN, side=st.sampled_from(sides_of(Grid.BRITISH)), grid=st.sampled_from(Grid))
def test_a_written_square_is_read_back_and_holds_its_place(
    latitude: float, longitude: float, side: int, grid: Grid
) -> None:
    assume(grid is not Grid.IRISH)
    assume(side in sides_of(grid))
    square = square_at(latitude, longitude, side, grid)
    again = read_square(square.spaced)
    assert again == square == read_square(square.reference.lower())
    assert WGS84.inv(square.longitude, square.latitude, longitude, latitude)[2] <= square.uncertainty_m


@given(latitude=st.floats(52.2, 55.0), longitude=st.floats(-9.5, -6.3), side=st.sampled_from(sides_of(Grid.IRISH)))
def test_an_irish_square_is_read_back_and_holds_its_place(latitude: float, longitude: float, side: int) -> None:
    square = square_at(latitude, longitude, side)
    assert square.grid is Grid.IRISH
    assert read_square(square.spaced) == square
    assert square_at(square.latitude, square.longitude, side, Grid.IRISH).reference == square.reference
    assert WGS84.inv(square.longitude, square.latitude, longitude, latitude)[2] <= square.uncertainty_m


@given(latitude=st.floats(-79.9, 83.9), longitude=st.floats(-180, 180), side=st.sampled_from(sides_of(Grid.MGRS)))
def test_an_mgrs_square_anywhere_is_read_back_and_holds_its_place(latitude: float, longitude: float, side: int) -> None:
    square = square_at(latitude, longitude, side, Grid.MGRS)
    assert read_square(square.spaced) == square
    assert WGS84.inv(square.longitude, square.latitude, longitude, latitude)[2] <= square.uncertainty_m


@given(**IN_BRITAIN, sides=st.tuples(*[st.sampled_from(sides_of(Grid.BRITISH))] * 2))
def test_a_coarser_square_is_the_one_of_the_place(latitude: float, longitude: float, sides: tuple[int, int]) -> None:
    fine, coarse = sorted(sides)
    square = square_at(latitude, longitude, fine, Grid.BRITISH)
    assert coarser(square, coarse) == square_at(latitude, longitude, coarse, Grid.BRITISH)


def test_a_network_changes_no_answer() -> None:
    was_on = pyproj.network.is_network_enabled()
    answers = []
    try:
        for is_on in (True, False):
            pyproj.network.set_network_enabled(is_on)
            answers.append(BRITISH.metres(52.658007833, 1.716073973))
    finally:
        pyproj.network.set_network_enabled(was_on)
    assert answers[0] == answers[1] == pytest.approx((651411.22, 313180.60), abs=0.005)
    assert "grid" not in BRITISH.pipeline and ".tif" not in BRITISH.pipeline


# --- what cannot be read or written -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "has no letters"),
        ("31590, 23467", "has no letters"),  # the Irish trap: cut short without a letter it is another place
        ("315904 234671", "has no letters"),
        ("TG 513 1", "groups of 3 and 1 figures"),
        ("TG 513", "has 3 figures"),
        ("TG 514091 131771", "has 12 figures"),
        ("AA 12", 'is called "AA"'),
        ("TI 12", 'is called "TI"'),
        ("XY 123 456", 'is called "XY"'),
        ("A 123 456", 'is called "A"'),
        ("I 123 456", 'is called "I"'),
        ("SU12O", 'no tetrad is called "O"'),
        ("SU123K", "has 3 figures"),
        ("SU1234K", "after 4 figures"),
        ("SU12NE", "is no grid reference"),
        ("SU 12 34 56", "groups of 2 and 2 and 2"),
        ("TG 51.4 13.1", "is no grid reference"),
        ("HELLO", "is no grid reference"),
        ("BAN0000000000", "is no grid reference"),  # the South Pole, in the polar grid
        ("4QFJ123", "as many figures for east"),
        ("4IFJ11", "is no MGRS reference"),
        ("99QFJ11", "names no square"),
        ("4QAA11", "names no square"),
    ],
)
def test_what_is_no_reference_is_told_in_one_sentence(text: str, words: str) -> None:
    with pytest.raises(InputError) as told:
        read_square(text)
    assert words in str(told.value)
    assert "\n" not in str(told.value)
    assert not str(told.value).endswith(".")


@given(st.text(alphabet="0123456789ABSUTGOJKx ,.-", max_size=14))
def test_any_text_is_a_square_or_a_sentence(text: str) -> None:
    try:
        square = read_square(text)
    except InputError as told:
        assert str(told)
    else:
        assert read_square(square.reference) == square


def test_no_reference_is_finer_than_the_change_of_datum() -> None:
    with pytest.raises(InputError, match=r"1 m is not written in the National Grid .* good to 5 m only"):
        square_at(52.3, 0.28, 1)
    with pytest.raises(InputError, match="1 m is not written in the Irish grid"):
        square_at(53.3, -7.0, 1)
    with pytest.raises(InputError, match="2000 m is not written in MGRS"):
        square_at(53.3, 30.0, 2000)
    with pytest.raises(InputError, match="a square of 100 m in it is not known"):
        coarser(read_square("TG51"), 100)


@given(st.floats(0.01, 70_000), st.sampled_from(Grid))
def test_a_square_claims_no_more_than_is_known(uncertainty_m: float, grid: Grid) -> None:
    side = side_for(uncertainty_m, grid)
    finer = [one for one in sides_of(grid) if one < side]
    assert side / math.sqrt(2) >= uncertainty_m
    assert all(one / math.sqrt(2) < uncertainty_m for one in finer)


@pytest.mark.parametrize("uncertainty_m", [0.0, -3.0, 71_000.0, math.nan, math.inf])
def test_no_square_for_an_uncertainty_that_fits_none(uncertainty_m: float) -> None:
    with pytest.raises(InputError, match="is written for above 0 to 70711 m"):
        side_for(uncertainty_m, Grid.IRISH)


def test_a_place_off_the_grid_or_the_globe_is_told() -> None:
    with pytest.raises(InputError, match="lies outside the National Grid"):
        square_at(48.0, 2.0, 100, Grid.BRITISH)
    with pytest.raises(InputError, match="lies outside the Irish grid"):
        square_at(52.0, 1.0, 100, Grid.IRISH)
    with pytest.raises(InputError, match="at sea in a square that the Irish grid does not use"):
        square_at(51.9, -6.3, 100, Grid.IRISH)
    assert (grid_at(51.9, -6.3), square_at(51.9, -6.3, 100).grid) == (Grid.IRISH, Grid.MGRS)
    for latitude, longitude in ((91.0, 0.0), (0.0, 181.0), (math.nan, 0.0), (85.0, 0.0), (-80.5, 0.0)):
        with pytest.raises(OutsideModel):
            square_at(latitude, longitude, 100)


@pytest.mark.parametrize("latitude", [-1e-9, -1e-7, -9e-7, -1.1e-6, -1e-5])
def test_a_place_just_south_of_the_equator_has_a_square_that_there_is(latitude):
    square = square_at(latitude, 0.0, 100, Grid.MGRS)
    assert read_square(square.reference) == square
