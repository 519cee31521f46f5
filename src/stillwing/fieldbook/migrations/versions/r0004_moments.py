"""Moments logged in the field, the difference between phone and camera, and where bursts were taken.

Revision ID: 0004
Revises: 0003
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of moments, clock offsets and positions."""
    _make_moment()
    _make_clock_offset()
    _make_burst_position()


def _make_moment() -> None:
    op.create_table(
        "moment",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("changed_at", sa.Text(), nullable=False),
        sa.Column("animal", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("stand", sa.Text(), nullable=False),
        sa.Column("perch", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("until", sa.Text(), nullable=True),
        sa.Column("undone", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_moment")),
        sqlite_with_rowid=False,
    )
    op.create_index(op.f("ix_moment_at_id"), "moment", ["at", "id"])


def _make_clock_offset() -> None:
    op.create_table(
        "clock_offset",
        sa.Column("outing_id", sa.Integer(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("camera_minus_phone_s", sa.Float(), nullable=False),
        sa.Column("low_s", sa.Float(), nullable=False),
        sa.Column("high_s", sa.Float(), nullable=False),
        sa.Column("found", sa.Text(), nullable=False),
        sa.Column("n_matched", sa.Integer(), nullable=False),
        sa.Column("n_taps", sa.Integer(), nullable=False),
        sa.Column("stored_at", sa.Text(), nullable=False),
        sa.CheckConstraint("found IN ('estimated', 'by hand')", name=op.f("ck_clock_offset_found")),
        sa.CheckConstraint(
            "low_s <= camera_minus_phone_s AND camera_minus_phone_s <= high_s", name=op.f("ck_clock_offset_interval")
        ),
        sa.ForeignKeyConstraint(
            ["outing_id"], ["outing.id"], name=op.f("fk_clock_offset_outing_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("outing_id", "device", name=op.f("pk_clock_offset")),
        sqlite_with_rowid=False,
    )


def _make_burst_position() -> None:
    op.create_table(
        "burst_position",
        sa.Column("burst_id", sa.Integer(), nullable=False),
        sa.Column("longitude_deg", sa.Float(), nullable=False),
        sa.Column("latitude_deg", sa.Float(), nullable=False),
        sa.Column("uncertainty_m", sa.Float(), nullable=False),
        sa.Column("gap_s", sa.Float(), nullable=False),
        sa.Column("track", sa.Text(), nullable=False),
        sa.Column("placed_at", sa.Text(), nullable=False),
        sa.CheckConstraint("uncertainty_m > 0 AND gap_s >= 0", name=op.f("ck_burst_position_figures")),
        sa.ForeignKeyConstraint(
            ["burst_id"], ["burst.id"], name=op.f("fk_burst_position_burst_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("burst_id", name=op.f("pk_burst_position")),
    )
