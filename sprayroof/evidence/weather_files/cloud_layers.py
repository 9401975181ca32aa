"""Low, middle and high cloud of a weather table, brought to what is seen from the ground."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.gather import Gather, count_of

if TYPE_CHECKING:
    from sprayroof.evidence.weather_files.station import StationRecord

LAYERS = ("low", "middle", "high")
COVERS = tuple(f"cloud_{layer}_frac" for layer in LAYERS)
BASES = tuple(f"cloud_{layer}_base_m" for layer in LAYERS)
ROUNDING_FRAC = 0.05  # three numbers in eighths or tenths may sum to a little more than the whole sky
OFTEN_FRAC = 0.01  # slips are rarer than this; amounts that hide each other are not


def settle_layers(record: StationRecord, gather: Gather) -> None:
    """Make of the layers what is seen from below, and of their sum the total cover where the file tells none.

    Parameters
    ----------
    record : StationRecord
        Changed in place; one without layers stays as it is.
    gather : Gather
        Receives a finding where layers fill more than the sky together.
    """
    if not has_layers(record):
        return
    low, middle, high = (np.clip(record.channel(name), 0.0, 1.0) for name in COVERS)
    with np.errstate(invalid="ignore"):
        over = low + middle + high > 1.0 + ROUNDING_FRAC
    often = float(np.mean(over)) > OFTEN_FRAC
    if often:  # each layer as if it were alone: chance lays one over the other
        middle, high = middle * (1.0 - low), high * (1.0 - low) * (1.0 - middle)
    else:
        middle = np.minimum(middle, 1.0 - low)
        high = np.minimum(high, 1.0 - low - middle)
    if over.any():
        _tell(record, int(over.sum()), often, gather)
    record.values |= dict(zip(COVERS, (low, middle, high), strict=True))
    total = record.channel("cloud_total_frac")
    record.values["cloud_total_frac"] = np.where(np.isnan(total), low + middle + high, total)


def _tell(record: StationRecord, records: int, often: bool, gather: Gather) -> None:
    done = ("taken as lying over each other by chance, and what the lower ones hide was taken off throughout" if often
            else "cut there to what the lower ones leave to be seen")
    gather.finding(
        "weather.cloud-layers-overlap",
        f"Low, middle and high cloud of {record.where} fill more than the sky together in "
        f"{count_of(records, 'record')}; the upper layers were {done}.",
        record.where,
        {"records": records, "throughout": often},
        "Hidden high cloud would otherwise warm the sky twice.",
    )


def has_layers(record: StationRecord) -> bool:
    """True where the file tells the cover of all three layers at least once."""
    return all(name in record.values for name in COVERS) and not any(
        np.isnan(record.channel(name)).all() for name in COVERS)


def layer_words(record: StationRecord, otherwise: str) -> str:
    """What the cloud was taken from, `otherwise` where it was not from layers."""
    if not has_layers(record):
        return otherwise
    layers = np.isnan([record.channel(name) for name in COVERS]).any(axis=0)
    told = [layer for layer, name in zip(LAYERS, BASES, strict=True) if not np.isnan(record.channel(name)).all()]
    heights = f"the file's base of {', '.join(told)} cloud" if told else "standard heights"
    missing = f"; {otherwise} in {count_of(int(layers.sum()), 'record')}" if layers.any() else ""
    return f"low, middle and high cloud at {heights}{missing}"
