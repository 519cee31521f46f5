"""The tables of the field book, as the newest revision has them.

What was measured hangs on a file (``frame``, ``measurement``, ``animal``, ``shape``), so that a file which two outings
share is measured once and a person's choice for it holds in both. What an outing is made of (``burst``,
``burst_frame``, ``proposal``, ``failure``) hangs on the outing. What a person did is a history of acts (``act``), from
which the present choice (``person_choice``) and box (``drawn_box``) follow. A ``kit``, a ``site`` and a ``moment``
stand alone; what ties moments and tracks to an outing (``clock_offset``, ``burst_position``) hangs on the outing and
its bursts, as do conditions that a person typed (``typed_condition``). A sighting is kept in versions
(``sighting_version``) with the bursts that show it (``sighting_burst``); what a person said of a burst's animal
(``burst_look``) hangs on the burst.
"""

from sqlalchemy import (
    CheckConstraint,
    Column,
    Float,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    text,
)

from stillwing.fieldbook.paths import AnyText, FilePath

__all__ = [
    "APPLICATION_ID",
    "SCHEMA_REVISION",
    "act",
    "animal",
    "burst",
    "burst_frame",
    "burst_look",
    "burst_position",
    "clock_offset",
    "drawn_box",
    "failure",
    "frame",
    "kit",
    "measurement",
    "metadata",
    "moment",
    "outing",
    "person_choice",
    "proposal",
    "shape",
    "sidecar_write",
    "sighting_burst",
    "sighting_version",
    "site",
    "typed_condition",
]

APPLICATION_ID = 0x57494E47
"""Written into the SQLite header ("WING"), so that no other program's database is taken for a field book."""

SCHEMA_REVISION = "0007"
"""Newest revision under ``migrations/versions``; revisions are numbers that grow."""


metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

CHOICES = "'keep', 'spare', 'leave'"

outing = Table(
    "outing",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", AnyText, nullable=False, unique=True),
    Column("folder", FilePath, nullable=False),
    Column("opened_at", Text, nullable=False),
    Column("sharp_for", Text),
    Column("chosen_at", Text),
)

frame = Table(
    "frame",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("path", FilePath, nullable=False, unique=True),
    Column("other_files", Text, nullable=False),
    Column("copies", Text, nullable=False),
    # The file as the last listing saw it; NULL when it was gone by then.
    Column("size_bytes", Integer),
    Column("mtime_ns", Integer),
    Column("taken_at", Text),
    Column("has_subseconds", Integer, nullable=False),
    Column("exposure_s", Float),
    Column("f_number", Float),
    Column("iso", Integer),
    Column("focal_length_mm", Float),
    Column("focus_distance_m", Float),
    Column("drive_mode", AnyText),
    Column("sequence_number", Integer),
    Column("orientation", Integer, nullable=False),
    Column("width_px", Integer),
    Column("height_px", Integer),
    Column("camera", AnyText),
    Column("camera_serial", AnyText),
    Column("lens", AnyText),
    Column("focus_area_px", Text),
    Column("latitude_deg", Float),
    Column("longitude_deg", Float),
    Column("altitude_m", Float),
    Column("focus_mode", AnyText),
)

burst = Table(
    "burst",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("outing_id", Integer, ForeignKey("outing.id", ondelete="CASCADE"), nullable=False),
    Column("folder", FilePath, nullable=False),
    Column("name", AnyText, nullable=False),
    Column("taken_at", Text),
    UniqueConstraint("outing_id", "folder", "name"),
    Index(None, "outing_id", "taken_at", "id"),
)

burst_frame = Table(
    "burst_frame",
    metadata,
    Column("outing_id", Integer, ForeignKey("outing.id", ondelete="CASCADE"), primary_key=True),
    Column("frame_id", Integer, ForeignKey("frame.id", ondelete="CASCADE"), primary_key=True),
    Column("burst_id", Integer, ForeignKey("burst.id", ondelete="CASCADE"), nullable=False),
    Column("number", Integer, nullable=False),
    Index(None, "burst_id", "number", "frame_id"),
    Index(None, "frame_id"),
    sqlite_with_rowid=False,
)

measurement = Table(
    "measurement",
    metadata,
    Column("frame_id", Integer, ForeignKey("frame.id", ondelete="CASCADE"), primary_key=True),
    Column("code_version", Text, nullable=False),
    # The file as it was before its pixels were read.
    Column("size_bytes", Integer),
    Column("mtime_ns", Integer),
    Column("width_px", Integer, nullable=False),
    Column("height_px", Integer, nullable=False),
    Column("from_preview", Integer, nullable=False),
    Column("drawn_digest", Text, nullable=False),
    Column("measured_at", Text, nullable=False),
    # How far the background moved since the frame before; NULL where that is not known.
    Column("slip_x_px", Float),
    Column("slip_y_px", Float),
    Column("slip_sd_px", Float),
)

animal = Table(
    "animal",
    metadata,
    Column("frame_id", Integer, ForeignKey("measurement.frame_id", ondelete="CASCADE"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("track", Integer, nullable=False),
    Column("x_px", Float, nullable=False),
    Column("y_px", Float, nullable=False),
    Column("width_px", Float, nullable=False),
    Column("height_px", Float, nullable=False),
    Column("certainty", Float, nullable=False),
    Column("origin", Text, nullable=False),
    Column("blur_px", Float),
    Column("blur_low_px", Float),
    Column("blur_high_px", Float),
    Column("blur_minor_px", Float),
    Column("blur_major_px", Float),
    Column("blur_direction_deg", Float),
    Column("blur_kind", Text),
    Column("size_in_frame", Float),
    Column("edge_clipped", Integer, nullable=False),
    Column("edge_left_px", Float),
    Column("edge_top_px", Float),
    Column("edge_right_px", Float),
    Column("edge_bottom_px", Float),
    Column("highlights_clipped", Float),
    Column("shadows_clipped", Float),
    Column("background_busyness", Float),
    sqlite_with_rowid=False,
)

shape = Table(
    "shape",
    metadata,
    Column("frame_id", Integer, primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("outline", LargeBinary, nullable=False),
    Column("focus_map", LargeBinary),
    Column("cutout", LargeBinary),
    ForeignKeyConstraint(["frame_id", "number"], ["animal.frame_id", "animal.number"], ondelete="CASCADE"),
    # With a rowid: rows of a few kilobytes make a clustered table slow to walk.
)

proposal = Table(
    "proposal",
    metadata,
    Column("outing_id", Integer, ForeignKey("outing.id", ondelete="CASCADE"), primary_key=True),
    Column("frame_id", Integer, ForeignKey("frame.id", ondelete="CASCADE"), primary_key=True),
    Column("choice", Text, nullable=False),
    Column("reason", AnyText, nullable=False),
    Column("usable_width_px", Float),
    CheckConstraint(f"choice IN ({CHOICES})", name="choice"),
    Index(None, "outing_id", "choice", "frame_id"),
    Index(None, "frame_id"),
    sqlite_with_rowid=False,
)

act = Table(
    "act",
    metadata,
    Column("id", Integer, primary_key=True),
    # One step may hold many acts, such as one choice for a whole burst; undo takes back a step.
    Column("step", Integer, nullable=False),
    Column("outing_id", Integer, ForeignKey("outing.id", ondelete="CASCADE"), nullable=False),
    Column("frame_id", Integer, ForeignKey("frame.id", ondelete="CASCADE"), nullable=False),
    Column("subject", Text, nullable=False),
    Column("choice", Text),
    Column("x_px", Float),
    Column("y_px", Float),
    Column("width_px", Float),
    Column("height_px", Float),
    Column("done_at", Text, nullable=False),
    Column("undone_at", Text),
    CheckConstraint("subject IN ('choice', 'box')", name="subject"),
    CheckConstraint(f"choice IS NULL OR choice IN ({CHOICES})", name="choice"),
    Index("ix_act_standing_by_outing", "outing_id", "id", sqlite_where=text("undone_at IS NULL")),
    Index("ix_act_standing_by_frame", "frame_id", "subject", "id", sqlite_where=text("undone_at IS NULL")),
    Index(None, "step"),
    sqlite_autoincrement=True,
)

person_choice = Table(
    "person_choice",
    metadata,
    Column("frame_id", Integer, ForeignKey("frame.id", ondelete="CASCADE"), primary_key=True),
    Column("choice", Text, nullable=False),
    CheckConstraint(f"choice IN ({CHOICES})", name="choice"),
)

drawn_box = Table(
    "drawn_box",
    metadata,
    Column("frame_id", Integer, ForeignKey("frame.id", ondelete="CASCADE"), primary_key=True),
    Column("x_px", Float, nullable=False),
    Column("y_px", Float, nullable=False),
    Column("width_px", Float, nullable=False),
    Column("height_px", Float, nullable=False),
)

failure = Table(
    "failure",
    metadata,
    Column("outing_id", Integer, ForeignKey("outing.id", ondelete="CASCADE"), primary_key=True),
    Column("path", FilePath, primary_key=True),
    Column("folder", FilePath, nullable=False),
    Column("reason", AnyText, nullable=False),
    Column("seen_at", Text, nullable=False),
    sqlite_with_rowid=False,
)

sidecar_write = Table(
    "sidecar_write",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("step", Integer, nullable=False),
    Column("outing_id", Integer, ForeignKey("outing.id", ondelete="CASCADE"), nullable=False),
    Column("path", FilePath, nullable=False),
    # The sidecar as it was, packed; NULL where there was none.
    Column("before", LargeBinary),
    Column("after_sha256", Text, nullable=False),
    Column("rating", Text),
    Column("written_at", Text, nullable=False),
    Column("undone_at", Text),
    # Latitude and longitude as the sidecar says them; empty where ours was taken out; NULL where it was let be.
    Column("position", Text),
    Index(None, "outing_id", "step"),
    Index(None, "path", "id"),
    sqlite_autoincrement=True,
)

kit = Table(
    "kit",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", AnyText, nullable=False),
    # The name as it is compared: without capitals, so that no two kits differ in them alone.
    Column("name_key", AnyText, nullable=False, unique=True),
    # Grows with each use; the kit with the highest stands.
    Column("turn", Integer, nullable=False, unique=True),
    # From here on the columns are the fields of the records in optics.kit: the camera's, the lens's, the converter.
    Column("sensor_width_mm", Float, nullable=False),
    Column("sensor_height_mm", Float, nullable=False),
    Column("width_px", Integer, nullable=False),
    Column("height_px", Integer, nullable=False),
    Column("lowest_iso", Float, nullable=False),
    Column("highest_iso", Float, nullable=False),
    Column("shortest_s", Float, nullable=False),
    Column("longest_s", Float, nullable=False),
    Column("frames_per_s", Float, nullable=False),
    Column("look_back_s", Float, nullable=False),
    Column("readout_s", Float, nullable=False),
    Column("well_e", Float),
    Column("read_noise_e", Float, nullable=False),
    Column("own_blur_px", Float, nullable=False),
    Column("shortest_mm", Float, nullable=False),
    Column("longest_mm", Float, nullable=False),
    Column("widest_at_shortest", Float, nullable=False),
    Column("widest_at_longest", Float, nullable=False),
    Column("narrowest", Float, nullable=False),
    Column("closest_focus_m", Float, nullable=False),
    Column("largest_magnification", Float),
    Column("pupil_ratio", Float, nullable=False),
    Column("teleconverter", Float, nullable=False),
    CheckConstraint("sensor_width_mm > 0 AND sensor_height_mm > 0", name="sensor"),
    CheckConstraint("width_px > 0 AND height_px > 0", name="pixels"),
    CheckConstraint("0 < shortest_mm AND shortest_mm <= longest_mm", name="focal_range"),
    CheckConstraint("teleconverter >= 1", name="teleconverter"),
)

site = Table(
    "site",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", AnyText, nullable=False),
    # The name as it is compared, as that of a kit.
    Column("name_key", AnyText, nullable=False, unique=True),
    Column("zone", Text, nullable=False),
    Column("elevation_m", Float, nullable=False),
    # GeoJSON with outline, stands, perches and horizon: what is handed out and read in.
    Column("document", AnyText, nullable=False),
    Column("added_at", Text, nullable=False),
    Column("changed_at", Text, nullable=False),
)

moment = Table(
    "moment",
    metadata,
    # UUID made on the phone.
    Column("id", Text, primary_key=True),
    Column("kind", Text, nullable=False),
    # Instants as text of one length, in UTC with milliseconds, so that their order is that of time.
    Column("at", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("changed_at", Text, nullable=False),
    Column("animal", AnyText, nullable=False),
    Column("site", AnyText, nullable=False),
    Column("stand", AnyText, nullable=False),
    Column("perch", AnyText, nullable=False),
    Column("note", AnyText, nullable=False),
    Column("until", Text),
    Column("undone", Integer, nullable=False),
    Index(None, "at", "id"),
    sqlite_with_rowid=False,
)

clock_offset = Table(
    "clock_offset",
    metadata,
    Column("outing_id", Integer, ForeignKey("outing.id", ondelete="CASCADE"), primary_key=True),
    # UUID of the phone.
    Column("device", Text, primary_key=True),
    Column("camera_minus_phone_s", Float, nullable=False),
    Column("low_s", Float, nullable=False),
    Column("high_s", Float, nullable=False),
    Column("found", Text, nullable=False),
    # Burst taps that agree, of those there were; both 0 where it was set by hand.
    Column("n_matched", Integer, nullable=False),
    Column("n_taps", Integer, nullable=False),
    Column("stored_at", Text, nullable=False),
    CheckConstraint("found IN ('estimated', 'by hand')", name="found"),
    CheckConstraint("low_s <= camera_minus_phone_s AND camera_minus_phone_s <= high_s", name="interval"),
    sqlite_with_rowid=False,
)

burst_position = Table(
    "burst_position",
    metadata,
    Column("burst_id", Integer, ForeignKey("burst.id", ondelete="CASCADE"), primary_key=True),
    Column("longitude_deg", Float, nullable=False),
    Column("latitude_deg", Float, nullable=False),
    Column("uncertainty_m", Float, nullable=False),
    # Time to the nearest point of the track.
    Column("gap_s", Float, nullable=False),
    # File name of the track.
    Column("track", AnyText, nullable=False),
    Column("placed_at", Text, nullable=False),
    CheckConstraint("uncertainty_m > 0 AND gap_s >= 0", name="figures"),
)

sighting_version = Table(
    "sighting_version",
    metadata,
    Column("id", Integer, primary_key=True),
    # One step may hold many versions, such as those of a file; undo takes back a step.
    Column("step", Integer, nullable=False),
    # UUID, made once for each sighting.
    Column("sighting_id", Text, nullable=False),
    Column("outing_id", Integer, ForeignKey("outing.id", ondelete="SET NULL")),
    # JSON of the whole record; NULL where the sighting was withdrawn.
    Column("document", AnyText),
    Column("stored_at", Text, nullable=False),
    Column("undone_at", Text),
    Index(None, "sighting_id", "id"),
    Index(None, "outing_id", "id"),
    Index(None, "step"),
    sqlite_autoincrement=True,
)

sighting_burst = Table(
    "sighting_burst",
    metadata,
    Column("version_id", Integer, ForeignKey("sighting_version.id", ondelete="CASCADE"), primary_key=True),
    Column("burst_id", Integer, ForeignKey("burst.id", ondelete="CASCADE"), primary_key=True),
    Index(None, "burst_id"),
    sqlite_with_rowid=False,
)

burst_look = Table(
    "burst_look",
    metadata,
    Column("burst_id", Integer, ForeignKey("burst.id", ondelete="CASCADE"), primary_key=True),
    # JSON: what nobody measures, such as answers to questions and the ends of the body.
    Column("document", AnyText, nullable=False),
    Column("changed_at", Text, nullable=False),
)

typed_condition = Table(
    "typed_condition",
    metadata,
    Column("outing_id", Integer, ForeignKey("outing.id", ondelete="CASCADE"), primary_key=True),
    # Number of the burst that it holds for; 0 for the whole outing.
    Column("burst_id", Integer, primary_key=True),
    # What it is, such as support, as it is compared: without capitals.
    Column("name", AnyText, primary_key=True),
    Column("value", AnyText, nullable=False),
    Column("typed_at", Text, nullable=False),
    sqlite_with_rowid=False,
)
