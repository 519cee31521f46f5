"""The position that was written into a sidecar, so that ours is told from another program's.

Revision ID: 0005
Revises: 0004
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the position to the journal of sidecars."""
    op.add_column("sidecar_write", sa.Column("position", sa.Text()))
