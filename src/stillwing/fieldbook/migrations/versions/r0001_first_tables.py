"""Outings, bursts, frames, what was measured, proposals, a person's acts, and the sidecars written.

Revision ID: 0001
Revises: nothing
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of revision 0001."""
    _make_frame()
    _make_outing()
    _make_act()
    _make_burst()
    _make_drawn_box()
    _make_failure()
    _make_measurement()
    _make_person_choice()
    _make_proposal()
    _make_sidecar_write()
    _make_animal()
    _make_burst_frame()
    _make_shape()


def _make_frame() -> None:
    op.create_table(
        "frame",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("other_files", sa.Text(), nullable=False),
        sa.Column("copies", sa.Text(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=True),
        sa.Column("mtime_ns", sa.Integer(), nullable=True),
        sa.Column("taken_at", sa.Text(), nullable=True),
        sa.Column("has_subseconds", sa.Integer(), nullable=False),
        sa.Column("exposure_s", sa.Float(), nullable=True),
        sa.Column("f_number", sa.Float(), nullable=True),
        sa.Column("iso", sa.Integer(), nullable=True),
        sa.Column("focal_length_mm", sa.Float(), nullable=True),
        sa.Column("focus_distance_m", sa.Float(), nullable=True),
        sa.Column("drive_mode", sa.Text(), nullable=True),
        sa.Column("sequence_number", sa.Integer(), nullable=True),
        sa.Column("orientation", sa.Integer(), nullable=False),
        sa.Column("width_px", sa.Integer(), nullable=True),
        sa.Column("height_px", sa.Integer(), nullable=True),
        sa.Column("camera", sa.Text(), nullable=True),
        sa.Column("camera_serial", sa.Text(), nullable=True),
        sa.Column("lens", sa.Text(), nullable=True),
        sa.Column("focus_area_px", sa.Text(), nullable=True),
        sa.Column("latitude_deg", sa.Float(), nullable=True),
        sa.Column("longitude_deg", sa.Float(), nullable=True),
        sa.Column("altitude_m", sa.Float(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_frame")),
        sa.UniqueConstraint("path", name=op.f("uq_frame_path")),
    )


def _make_outing() -> None:
    op.create_table(
        "outing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("folder", sa.Text(), nullable=False),
        sa.Column("opened_at", sa.Text(), nullable=False),
        sa.Column("sharp_for", sa.Text(), nullable=True),
        sa.Column("chosen_at", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outing")),
        sa.UniqueConstraint("name", name=op.f("uq_outing_name")),
    )


def _make_act() -> None:
    op.create_table(
        "act",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("outing_id", sa.Integer(), nullable=False),
        sa.Column("frame_id", sa.Integer(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("choice", sa.Text(), nullable=True),
        sa.Column("x_px", sa.Float(), nullable=True),
        sa.Column("y_px", sa.Float(), nullable=True),
        sa.Column("width_px", sa.Float(), nullable=True),
        sa.Column("height_px", sa.Float(), nullable=True),
        sa.Column("done_at", sa.Text(), nullable=False),
        sa.Column("undone_at", sa.Text(), nullable=True),
        sa.CheckConstraint("choice IS NULL OR choice IN ('keep', 'spare', 'leave')", name=op.f("ck_act_choice")),
        sa.CheckConstraint("subject IN ('choice', 'box')", name=op.f("ck_act_subject")),
        sa.ForeignKeyConstraint(["frame_id"], ["frame.id"], name=op.f("fk_act_frame_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["outing_id"], ["outing.id"], name=op.f("fk_act_outing_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_act")),
        sqlite_autoincrement=True,
    )
    op.create_index(
        "ix_act_standing_by_frame",
        "act",
        ["frame_id", "subject", "id"],
        unique=False,
        sqlite_where=sa.text("undone_at IS NULL"),
    )
    op.create_index(
        "ix_act_standing_by_outing", "act", ["outing_id", "id"], unique=False, sqlite_where=sa.text("undone_at IS NULL")
    )
    op.create_index(op.f("ix_act_step"), "act", ["step"], unique=False)


def _make_burst() -> None:
    op.create_table(
        "burst",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("outing_id", sa.Integer(), nullable=False),
        sa.Column("folder", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("taken_at", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["outing_id"], ["outing.id"], name=op.f("fk_burst_outing_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_burst")),
        sa.UniqueConstraint("outing_id", "folder", "name", name=op.f("uq_burst_outing_id_folder_name")),
    )
    op.create_index(op.f("ix_burst_outing_id_taken_at_id"), "burst", ["outing_id", "taken_at", "id"], unique=False)


def _make_drawn_box() -> None:
    op.create_table(
        "drawn_box",
        sa.Column("frame_id", sa.Integer(), nullable=False),
        sa.Column("x_px", sa.Float(), nullable=False),
        sa.Column("y_px", sa.Float(), nullable=False),
        sa.Column("width_px", sa.Float(), nullable=False),
        sa.Column("height_px", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(["frame_id"], ["frame.id"], name=op.f("fk_drawn_box_frame_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("frame_id", name=op.f("pk_drawn_box")),
    )


def _make_failure() -> None:
    op.create_table(
        "failure",
        sa.Column("outing_id", sa.Integer(), nullable=False),
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("folder", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("seen_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["outing_id"], ["outing.id"], name=op.f("fk_failure_outing_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("outing_id", "path", name=op.f("pk_failure")),
        sqlite_with_rowid=False,
    )


def _make_measurement() -> None:
    op.create_table(
        "measurement",
        sa.Column("frame_id", sa.Integer(), nullable=False),
        sa.Column("code_version", sa.Text(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=True),
        sa.Column("mtime_ns", sa.Integer(), nullable=True),
        sa.Column("width_px", sa.Integer(), nullable=False),
        sa.Column("height_px", sa.Integer(), nullable=False),
        sa.Column("from_preview", sa.Integer(), nullable=False),
        sa.Column("drawn_digest", sa.Text(), nullable=False),
        sa.Column("measured_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["frame_id"], ["frame.id"], name=op.f("fk_measurement_frame_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("frame_id", name=op.f("pk_measurement")),
    )


def _make_person_choice() -> None:
    op.create_table(
        "person_choice",
        sa.Column("frame_id", sa.Integer(), nullable=False),
        sa.Column("choice", sa.Text(), nullable=False),
        sa.CheckConstraint("choice IN ('keep', 'spare', 'leave')", name=op.f("ck_person_choice_choice")),
        sa.ForeignKeyConstraint(["frame_id"], ["frame.id"], name=op.f("fk_person_choice_frame_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("frame_id", name=op.f("pk_person_choice")),
    )


def _make_proposal() -> None:
    op.create_table(
        "proposal",
        sa.Column("outing_id", sa.Integer(), nullable=False),
        sa.Column("frame_id", sa.Integer(), nullable=False),
        sa.Column("choice", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("usable_width_px", sa.Float(), nullable=True),
        sa.CheckConstraint("choice IN ('keep', 'spare', 'leave')", name=op.f("ck_proposal_choice")),
        sa.ForeignKeyConstraint(["frame_id"], ["frame.id"], name=op.f("fk_proposal_frame_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["outing_id"], ["outing.id"], name=op.f("fk_proposal_outing_id"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("outing_id", "frame_id", name=op.f("pk_proposal")),
        sqlite_with_rowid=False,
    )
    op.create_index(op.f("ix_proposal_frame_id"), "proposal", ["frame_id"], unique=False)
    op.create_index(
        op.f("ix_proposal_outing_id_choice_frame_id"), "proposal", ["outing_id", "choice", "frame_id"], unique=False
    )


def _make_sidecar_write() -> None:
    op.create_table(
        "sidecar_write",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("outing_id", sa.Integer(), nullable=False),
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("before", sa.LargeBinary(), nullable=True),
        sa.Column("after_sha256", sa.Text(), nullable=False),
        sa.Column("rating", sa.Text(), nullable=True),
        sa.Column("written_at", sa.Text(), nullable=False),
        sa.Column("undone_at", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["outing_id"], ["outing.id"], name=op.f("fk_sidecar_write_outing_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sidecar_write")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_sidecar_write_outing_id_step"), "sidecar_write", ["outing_id", "step"], unique=False)
    op.create_index(op.f("ix_sidecar_write_path_id"), "sidecar_write", ["path", "id"], unique=False)


def _make_animal() -> None:
    op.create_table(
        "animal",
        sa.Column("frame_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("track", sa.Integer(), nullable=False),
        sa.Column("x_px", sa.Float(), nullable=False),
        sa.Column("y_px", sa.Float(), nullable=False),
        sa.Column("width_px", sa.Float(), nullable=False),
        sa.Column("height_px", sa.Float(), nullable=False),
        sa.Column("certainty", sa.Float(), nullable=False),
        sa.Column("origin", sa.Text(), nullable=False),
        sa.Column("blur_px", sa.Float(), nullable=True),
        sa.Column("blur_low_px", sa.Float(), nullable=True),
        sa.Column("blur_high_px", sa.Float(), nullable=True),
        sa.Column("blur_minor_px", sa.Float(), nullable=True),
        sa.Column("blur_major_px", sa.Float(), nullable=True),
        sa.Column("blur_direction_deg", sa.Float(), nullable=True),
        sa.Column("blur_kind", sa.Text(), nullable=True),
        sa.Column("size_in_frame", sa.Float(), nullable=True),
        sa.Column("edge_clipped", sa.Integer(), nullable=False),
        sa.Column("edge_left_px", sa.Float(), nullable=True),
        sa.Column("edge_top_px", sa.Float(), nullable=True),
        sa.Column("edge_right_px", sa.Float(), nullable=True),
        sa.Column("edge_bottom_px", sa.Float(), nullable=True),
        sa.Column("highlights_clipped", sa.Float(), nullable=True),
        sa.Column("shadows_clipped", sa.Float(), nullable=True),
        sa.Column("background_busyness", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(
            ["frame_id"], ["measurement.frame_id"], name=op.f("fk_animal_frame_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("frame_id", "number", name=op.f("pk_animal")),
        sqlite_with_rowid=False,
    )


def _make_burst_frame() -> None:
    op.create_table(
        "burst_frame",
        sa.Column("outing_id", sa.Integer(), nullable=False),
        sa.Column("frame_id", sa.Integer(), nullable=False),
        sa.Column("burst_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["burst_id"], ["burst.id"], name=op.f("fk_burst_frame_burst_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["frame_id"], ["frame.id"], name=op.f("fk_burst_frame_frame_id"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["outing_id"], ["outing.id"], name=op.f("fk_burst_frame_outing_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("outing_id", "frame_id", name=op.f("pk_burst_frame")),
        sqlite_with_rowid=False,
    )
    op.create_index(
        op.f("ix_burst_frame_burst_id_number_frame_id"), "burst_frame", ["burst_id", "number", "frame_id"], unique=False
    )
    op.create_index(op.f("ix_burst_frame_frame_id"), "burst_frame", ["frame_id"], unique=False)


def _make_shape() -> None:
    op.create_table(
        "shape",
        sa.Column("frame_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("outline", sa.LargeBinary(), nullable=False),
        sa.Column("focus_map", sa.LargeBinary(), nullable=True),
        sa.ForeignKeyConstraint(
            ["frame_id", "number"],
            ["animal.frame_id", "animal.number"],
            name=op.f("fk_shape_frame_id_number"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("frame_id", "number", name=op.f("pk_shape")),
    )
