"""Kits: a camera with a lens under a name.

Revision ID: 0002
Revises: 0001
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table of kits."""
    op.create_table(
        "kit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("name_key", sa.Text(), nullable=False),
        sa.Column("turn", sa.Integer(), nullable=False),
        sa.Column("sensor_width_mm", sa.Float(), nullable=False),
        sa.Column("sensor_height_mm", sa.Float(), nullable=False),
        sa.Column("width_px", sa.Integer(), nullable=False),
        sa.Column("height_px", sa.Integer(), nullable=False),
        sa.Column("lowest_iso", sa.Float(), nullable=False),
        sa.Column("highest_iso", sa.Float(), nullable=False),
        sa.Column("shortest_s", sa.Float(), nullable=False),
        sa.Column("longest_s", sa.Float(), nullable=False),
        sa.Column("frames_per_s", sa.Float(), nullable=False),
        sa.Column("look_back_s", sa.Float(), nullable=False),
        sa.Column("readout_s", sa.Float(), nullable=False),
        sa.Column("well_e", sa.Float(), nullable=True),
        sa.Column("read_noise_e", sa.Float(), nullable=False),
        sa.Column("own_blur_px", sa.Float(), nullable=False),
        sa.Column("shortest_mm", sa.Float(), nullable=False),
        sa.Column("longest_mm", sa.Float(), nullable=False),
        sa.Column("widest_at_shortest", sa.Float(), nullable=False),
        sa.Column("widest_at_longest", sa.Float(), nullable=False),
        sa.Column("narrowest", sa.Float(), nullable=False),
        sa.Column("closest_focus_m", sa.Float(), nullable=False),
        sa.Column("largest_magnification", sa.Float(), nullable=True),
        sa.Column("pupil_ratio", sa.Float(), nullable=False),
        sa.Column("teleconverter", sa.Float(), nullable=False),
        sa.CheckConstraint("sensor_width_mm > 0 AND sensor_height_mm > 0", name=op.f("ck_kit_sensor")),
        sa.CheckConstraint("width_px > 0 AND height_px > 0", name=op.f("ck_kit_pixels")),
        sa.CheckConstraint("0 < shortest_mm AND shortest_mm <= longest_mm", name=op.f("ck_kit_focal_range")),
        sa.CheckConstraint("teleconverter >= 1", name=op.f("ck_kit_teleconverter")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kit")),
        sa.UniqueConstraint("name_key", name=op.f("uq_kit_name_key")),
        sa.UniqueConstraint("turn", name=op.f("uq_kit_turn")),
    )
