"""Sightings in versions, what a person said of a burst's animal, and how the background moved between frames.

Revision ID: 0006
Revises: 0005
"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of sightings and looks, and add how the background moved to what was measured."""
    for name in ("slip_x_px", "slip_y_px", "slip_sd_px"):
        op.add_column("measurement", sa.Column(name, sa.Float()))
    op.create_table(
        "sighting_version",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("sighting_id", sa.Text(), nullable=False),
        sa.Column("outing_id", sa.Integer(), nullable=True),
        sa.Column("document", sa.Text(), nullable=True),
        sa.Column("stored_at", sa.Text(), nullable=False),
        sa.Column("undone_at", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["outing_id"], ["outing.id"], name=op.f("fk_sighting_version_outing_id_outing"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sighting_version")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_sighting_version_sighting_id_id"), "sighting_version", ["sighting_id", "id"])
    op.create_index(op.f("ix_sighting_version_outing_id_id"), "sighting_version", ["outing_id", "id"])
    op.create_index(op.f("ix_sighting_version_step"), "sighting_version", ["step"])
    op.create_table(
        "sighting_burst",
        sa.Column("version_id", sa.Integer(), nullable=False),
        sa.Column("burst_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["version_id"],
            ["sighting_version.id"],
            name=op.f("fk_sighting_burst_version_id_sighting_version"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["burst_id"], ["burst.id"], name=op.f("fk_sighting_burst_burst_id_burst"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("version_id", "burst_id", name=op.f("pk_sighting_burst")),
        sqlite_with_rowid=False,
    )
    op.create_index(op.f("ix_sighting_burst_burst_id"), "sighting_burst", ["burst_id"])
    op.create_table(
        "burst_look",
        sa.Column("burst_id", sa.Integer(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("changed_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["burst_id"], ["burst.id"], name=op.f("fk_burst_look_burst_id_burst"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("burst_id", name=op.f("pk_burst_look")),
    )
