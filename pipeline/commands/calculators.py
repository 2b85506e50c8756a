"""Bench calculators at the command line: strength of a reading, water for a reduction, a blend.

Each prints a table for people or, with --json, one object for machines. Input that cannot be is told in
one sentence on standard error, with exit status 2.
"""

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import click

from gaugebook.pipeline.engineering.blending import blend, blend_to_target, reduce
from gaugebook.pipeline.engineering.elements import FloatOrArray
from gaugebook.pipeline.engineering.reduction_uncertainty import u_blend, u_blend_to_target, u_reduce
from gaugebook.pipeline.engineering.strength import (
    GLASS_EXPANSION_PER_K,
    mass_fraction_from_volume_strength,
    strength_from_alcoholmeter,
    strength_from_density,
    strength_from_hydrometer_density,
    strength_from_us_proof,
)
from gaugebook.pipeline.engineering.uncertainty import propagate, u_strength_from_alcoholmeter, u_strength_from_density

CAUTION = (
    "Strong spirit and its vapour are flammable, and mixing it with water gives off heat. "
    "Follow local codes and licensed practice."
)

# What a row of a printed table shows: its name, the key of the value, its unit, decimals.
Row = tuple[str, str, str, int]


class CannotBeDone(click.ClickException):
    """What was asked cannot be computed; the message says why and what to give instead."""

    exit_code = 2


@contextmanager
def _told_in_one_sentence() -> Iterator[None]:
    """Turn an engineering refusal into an error of the command line."""
    try:
        yield
    except ValueError as refusal:
        raise CannotBeDone(f"{refusal}.") from refusal


def _show(values: Mapping[str, Any], as_json: bool, title: str, rows: list[Row], note: str = "") -> None:
    """Print one object, or the rows of a table with the uncertainty beside each value."""
    if as_json:
        click.echo(json.dumps(values, ensure_ascii=False, indent=2))
        return
    from rich.console import Console  # only a printed table needs it, and it is slow to import
    from rich.table import Table

    table = Table(title=title, title_justify="left", caption=note or None, caption_justify="left")
    table.add_column("quantity")
    table.add_column("value", justify="right")
    table.add_column("standard uncertainty", justify="right")
    table.add_column("unit")
    for name, key, unit, decimals in rows:
        u = values.get(f"u_{key}")
        table.add_row(name, f"{values[key]:.{decimals}f}", "" if u is None else f"{u:.2g}", unit)
    Console().print(table)


def _json_option(command: Callable[..., None]) -> Callable[..., None]:
    return click.option("--json", "as_json", is_flag=True, help="One JSON object instead of a table.")(command)


@click.command("strength")
@click.option("--reading", type=float, help="Reading of the instrument [% vol, or kg/m3 for a hydrometer].")
@click.option("--density", type=float, help="Density in vacuo at the reading temperature [kg/m3].")
@click.option("--us-proof", type=float, help="True United States proof at 60 °F.")
@click.option("--reading-temperature", type=float, help="Temperature of the reading [°C].")
@click.option(
    "--instrument",
    type=click.Choice(["alcoholmeter", "hydrometer"]),
    default="alcoholmeter",
    show_default=True,
    help="What was read: a glass alcoholmeter in % vol, or a glass hydrometer in kg/m3, right at 20 °C.",
)
@click.option("--glass", type=click.Choice(list(GLASS_EXPANSION_PER_K)), default="soda-lime", show_default=True)
@click.option("--u-reading", type=float, default=0.1, show_default=True, help="Its standard uncertainty [its unit].")
@click.option(
    "--u-reading-temperature", type=float, default=0.1, show_default=True, help="Its standard uncertainty [°C]."
)
@_json_option
def strength_command(
    reading: float | None,
    density: float | None,
    us_proof: float | None,
    reading_temperature: float | None,
    instrument: str,
    glass: str,
    u_reading: float,
    u_reading_temperature: float,
    as_json: bool,
) -> None:
    """Strength by volume at 20 °C from a reading, a density or a proof."""
    if [reading, density, us_proof].count(None) != 2:
        raise CannotBeDone("Give exactly one of --reading, --density and --us-proof.")
    if us_proof is None and reading_temperature is None:
        raise CannotBeDone("Give --reading-temperature, the temperature in °C at which the spirit was read.")
    with _told_in_one_sentence():
        strength, u_strength = _strength_and_uncertainty(
            reading, density, us_proof, reading_temperature, instrument, glass, u_reading, u_reading_temperature
        )
        values = {
            "strength_pct_vol_20c": strength,
            "u_strength_pct_vol_20c": u_strength,
            "mass_pct": 100.0 * mass_fraction_from_volume_strength(strength),
        }
    rows = [
        ("strength at 20 °C", "strength_pct_vol_20c", "% vol", 2),
        ("strength by mass", "mass_pct", "% mass", 2),
    ]
    _show(values, as_json, "Strength", rows, "Apparent strength, if sugar or extract is dissolved.")


def _strength_and_uncertainty(
    reading: float | None,
    density: float | None,
    us_proof: float | None,
    temperature_c: float | None,
    instrument: str,
    glass: str,
    u_reading: float,
    u_temperature_c: float,
) -> tuple[FloatOrArray, FloatOrArray]:
    """Strength at 20 °C and its standard uncertainty, by whichever road the reading came."""
    if us_proof is not None:
        return strength_from_us_proof(us_proof), propagate(strength_from_us_proof, [us_proof], [u_reading])
    assert temperature_c is not None  # the command has seen to it
    if density is not None:
        return (
            strength_from_density(density, temperature_c),
            u_strength_from_density(density, u_reading, temperature_c, u_temperature_c),
        )
    assert reading is not None
    if instrument == "hydrometer":
        return (
            strength_from_hydrometer_density(reading, temperature_c, glass),
            propagate(
                lambda r, t: strength_from_hydrometer_density(r, t, glass),
                [reading, temperature_c],
                [u_reading, u_temperature_c],
            ),
        )
    return (
        strength_from_alcoholmeter(reading, temperature_c, glass),
        u_strength_from_alcoholmeter(reading, u_reading, temperature_c, u_temperature_c, glass),
    )


@click.command("reduce")
@click.option("--volume", type=float, required=True, help="Volume of the spirit at its temperature [L].")
@click.option("--strength", type=float, required=True, help="Its strength at 20 °C [% vol].")
@click.option("--to", "target", type=float, required=True, help="Strength wanted at 20 °C [% vol].")
@click.option("--temperature", type=float, default=20.0, show_default=True, help="Temperature of the spirit [°C].")
@click.option(
    "--with-strength", type=float, default=0.0, show_default=True, help="Strength of the reducing liquid [% vol]."
)
@click.option("--u-volume", type=float, help="Standard uncertainty of the volume [L]; 0.2 % if not given.")
@click.option("--u-strength", type=float, default=0.1, show_default=True, help="Of the strength [% vol].")
@click.option("--u-temperature", type=float, default=0.2, show_default=True, help="Of the temperature [°C].")
@_json_option
def reduce_command(
    volume: float,
    strength: float,
    target: float,
    temperature: float,
    with_strength: float,
    u_volume: float | None,
    u_strength: float,
    u_temperature: float,
    as_json: bool,
) -> None:
    """Water to add to bring a spirit down to a strength."""
    with _told_in_one_sentence():
        reduction = reduce(volume, strength, target, temperature, with_strength)
        u_volume = 0.002 * volume if u_volume is None else u_volume  # common practice for a dipped vessel
        u = u_reduce(volume, u_volume, strength, u_strength, target, temperature, u_temperature, with_strength)
    values = {"strength_pct_vol_20c": target, **vars(reduction), **u}
    liquid = "water" if with_strength == 0.0 else "reducing liquid"
    rows = [
        (f"{liquid} to add", "water_l", "L at 20 °C", 2),
        (f"{liquid} to add", "water_kg", "kg", 2),
        ("  as a balance in air shows it", "water_weighed_in_air_kg", "kg", 2),
        ("final volume", "final_volume_l", "L at 20 °C", 2),
        ("contraction", "contraction_l", "L", 2),
        ("contraction", "contraction_pct", "%", 2),
        ("pure alcohol", "alcohol_l", "L at 20 °C", 2),
    ]
    _show(values, as_json, f"Reduction from {strength:g} to {target:g} % vol", rows, CAUTION)


@click.command("blend")
@click.option("--volume", "volumes", type=float, multiple=True, help="Volume of a spirit at 20 °C [L]; repeat.")
@click.option("--strength", "strengths", type=float, multiple=True, help="Its strength [% vol]; repeat in order.")
@click.option("--to", "target", type=float, help="Strength wanted of two spirits [% vol].")
@click.option("--target-volume", type=float, help="Volume wanted of two spirits at 20 °C [L].")
@click.option("--u-volume", type=float, help="Standard uncertainty of each volume [L]; 0.2 % if not given.")
@click.option("--u-strength", type=float, default=0.1, show_default=True, help="Of each strength [% vol].")
@_json_option
def blend_command(
    volumes: tuple[float, ...],
    strengths: tuple[float, ...],
    target: float | None,
    target_volume: float | None,
    u_volume: float | None,
    u_strength: float,
    as_json: bool,
) -> None:
    """What spirits make together, or how much of two makes a wanted volume and strength.

    \b
    gaugebook blend --volume 100 --strength 60 --volume 50 --strength 40
    gaugebook blend --strength 60 --strength 40 --to 45 --target-volume 200
    """
    if target is None and target_volume is None:
        _show_blend(volumes, strengths, u_volume, u_strength, as_json)
    elif target is None or target_volume is None or volumes or len(strengths) != 2:
        raise CannotBeDone("For a target give --to, --target-volume and --strength twice, and no --volume.")
    else:
        _show_two_spirits(strengths, target, target_volume, u_strength, as_json)


def _show_blend(
    volumes: tuple[float, ...],
    strengths: tuple[float, ...],
    u_volume: float | None,
    u_strength: float,
    as_json: bool,
) -> None:
    with _told_in_one_sentence():
        blended = blend(volumes, strengths)
        u_volumes = [0.002 * v if u_volume is None else u_volume for v in volumes]
        u = u_blend(list(volumes), list(u_volumes), list(strengths), [u_strength if q else 0.0 for q in strengths])
    values = {
        "strength_pct_vol_20c": blended.strength_pct_vol,
        "final_volume_l": blended.volume_l,
        "contraction_l": blended.contraction_l,
        "contraction_pct": blended.contraction_pct,
        "alcohol_l": blended.alcohol_l,
        "mass_kg": blended.mass_kg,
        "u_strength_pct_vol_20c": u["u_strength_pct_vol"],
        "u_final_volume_l": u["u_volume_l"],
        "u_contraction_l": u["u_contraction_l"],
        "u_alcohol_l": u["u_alcohol_l"],
    }
    rows = [
        ("strength at 20 °C", "strength_pct_vol_20c", "% vol", 2),
        ("final volume", "final_volume_l", "L at 20 °C", 2),
        ("contraction", "contraction_l", "L", 2),
        ("contraction", "contraction_pct", "%", 2),
        ("pure alcohol", "alcohol_l", "L at 20 °C", 2),
    ]
    _show(values, as_json, f"Blend of {len(volumes)}", rows, CAUTION)


def _show_two_spirits(
    strengths: tuple[float, ...], target: float, target_volume: float, u_strength: float, as_json: bool
) -> None:
    first, second = strengths
    with _told_in_one_sentence():
        parts = blend_to_target(first, second, target, target_volume)
        u_first, u_second = (u_strength if q else 0.0 for q in strengths)
        u = u_blend_to_target(first, u_first, second, u_second, target, target_volume)
    values = {"strength_pct_vol_20c": target, "final_volume_l": target_volume, **vars(parts), **u}
    rows = [
        (f"spirit of {first:g} % vol", "volume_a_l", "L at 20 °C", 2),
        (f"spirit of {first:g} % vol", "mass_a_kg", "kg", 2),
        (f"spirit of {second:g} % vol", "volume_b_l", "L at 20 °C", 2),
        (f"spirit of {second:g} % vol", "mass_b_kg", "kg", 2),
        ("contraction", "contraction_l", "L", 2),
    ]
    _show(values, as_json, f"Two spirits to {target_volume:g} L of {target:g} % vol", rows, CAUTION)
