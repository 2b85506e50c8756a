"""What commands print for machines: JSON, one field a line."""

import json
from datetime import date, datetime
from typing import Any

import click

from gaugebook.pipeline.exported import exported_data


def echo_json(answer: Any) -> None:
    """Print lists and objects as JSON; times in ISO 8601, figures as they are exported, decimals as numbers."""
    click.echo(json.dumps(exported_data(answer), indent=1, default=_plain))


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date | datetime) else float(value)
