"""From WGS 84 to the metres of a grid and back: one written-out transformation each, the same on every machine."""

from dataclasses import dataclass
from functools import cache

from pyproj import Transformer
from pyproj.enums import TransformDirection

from stillwing.records.gridletters import GridMetres

__all__ = ["BRITISH", "IRISH", "GridFrame", "utm_frame"]

BRITISH_STEPS = (
    "+step +inv +proj=helmert +x=446.448 +y=-125.157 +z=542.060 +rx=0.150 +ry=0.247 +rz=0.842 +s=-20.489 "
    "+convention=position_vector "
    "+step +inv +proj=cart +ellps=airy +step +proj=pop +v_3 "
    "+step +proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000 +ellps=airy"
)
"""EPSG:27700 over the transformation "OSGB36 to WGS 84 (6)" with its seven parameters (EPSG registry)."""
IRISH_STEPS = (
    "+step +inv +proj=helmert +x=482.5 +y=-130.6 +z=564.6 +rx=-1.042 +ry=-0.214 +rz=-0.631 +s=8.15 "
    "+convention=position_vector "
    "+step +inv +proj=cart +a=6377340.189 +rf=299.3249646 +step +proj=pop +v_3 "
    "+step +proj=tmerc +lat_0=53.5 +lon_0=-8 +k=1.000035 +x_0=200000 +y_0=250000 +a=6377340.189 +rf=299.3249646"
)
"""EPSG:29902 over the transformation "TM65 to WGS 84 (2)" with its seven parameters (EPSG registry)."""
TO_CARTESIAN = (
    "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step +proj=push +v_3 +step +proj=cart +ellps=WGS84 "
)


@dataclass(frozen=True, slots=True)
class GridFrame:
    """How a grid lies on the Earth.

    Attributes
    ----------
    pipeline : str
        PROJ pipeline from longitude and latitude in degrees (WGS 84) to metres. It names no grid file, so that no file
        found on a machine or a network changes an answer.
    shift_error_m : float
        How far the change of datum may be off. [m]
    least_scale : float
        Smallest metres of grid for a metre of ground.
    """

    pipeline: str
    shift_error_m: float
    least_scale: float

    def metres(self, latitude: float, longitude: float) -> GridMetres:
        """Return where a place, in degrees of WGS 84, lies in the grid."""
        return GridMetres(*_transformer(self.pipeline).transform(longitude, latitude))

    def place(self, point: GridMetres) -> tuple[float, float]:
        """Return latitude and longitude of a point of the grid. [deg]"""
        longitude, latitude = _transformer(self.pipeline).transform(*point, direction=TransformDirection.INVERSE)
        return latitude, longitude


BRITISH = GridFrame(TO_CARTESIAN + BRITISH_STEPS, shift_error_m=5.0, least_scale=0.9996012717)
"""Off by 3.45 m at most in eight places compared with the national transformation OSTN15. What is published of it runs
from 3.5 to 7 m; 5 m is a choice between, no source."""
IRISH = GridFrame(TO_CARTESIAN + IRISH_STEPS, shift_error_m=1.0, least_scale=1.000035)
"""1 m is the accuracy that the EPSG registry gives."""


@cache
def utm_frame(zone: int, is_south: bool) -> GridFrame:
    """Return one of the 60 zones of the Universal Transverse Mercator grid on WGS 84, north or south."""
    half = " +south" if is_south else ""
    steps = f"+step +proj=unitconvert +xy_in=deg +xy_out=rad +step +proj=utm +zone={zone}{half} +ellps=WGS84"
    return GridFrame(f"+proj=pipeline {steps}", shift_error_m=0.0, least_scale=0.9996)


@cache
def _transformer(pipeline: str) -> Transformer:
    return Transformer.from_pipeline(pipeline)
