"""Small pictures of the animals, by which a burst's frames are laid on one another.

Revision ID: 0007
Revises: 0006
"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the pictures beside outlines and focus maps."""
    op.add_column("shape", sa.Column("cutout", sa.LargeBinary()))
