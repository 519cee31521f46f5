"""Sightings, what a person said of an animal and typed of an outing, focus mode, how backgrounds moved.

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
    """Make the new tables, and add the new columns."""
    for name in ("slip_x_px", "slip_y_px", "slip_sd_px"):
        op.add_column("measurement", sa.Column(name, sa.Float()))
    op.add_column("frame", sa.Column("focus_mode", sa.Text()))
    _make_sightings()
    _make_looks_and_conditions()


def _make_sightings() -> None:
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


def _make_looks_and_conditions() -> None:
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
    op.create_table(
        "typed_condition",
        sa.Column("outing_id", sa.Integer(), nullable=False),
        sa.Column("burst_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("typed_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["outing_id"], ["outing.id"], name=op.f("fk_typed_condition_outing_id_outing"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("outing_id", "burst_id", "name", name=op.f("pk_typed_condition")),
        sqlite_with_rowid=False,
    )
