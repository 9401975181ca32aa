"""Published weather and radiation records that package wheels carry: fetched once into a cache folder, never committed.

The wheels are downloaded without their dependencies and read as archives; nothing of them is installed or run.
"""

from __future__ import annotations

import gzip
import io
import os
import subprocess
import sys
import zipfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import platformdirs
import pvlib
import pytest

CACHE = Path(platformdirs.user_cache_dir("sprayroof-tests", appauthor=False))
PVLIB, DIYEPW, BUILDING = "pvlib==0.11.2", "diyepw==1.3.1", "building-plus==0.1.10"


class NotFetched(Exception):
    """A package could not be downloaded."""


@cache
def wheel(requirement: str) -> Path:
    """The wheel of a package, downloaded if the cache does not hold it.

    Raises
    ------
    NotFetched
        With what pip said.
    """
    folder = CACHE / requirement.replace("==", "-")
    found = sorted(folder.glob("*.whl"))
    if not found:
        folder.mkdir(parents=True, exist_ok=True)
        command = [
            sys.executable,
            "-m",
            "pip",
            "download",
            "--quiet",
            "--no-deps",
            "--only-binary=:all:",
            "--dest",
            str(folder),
            requirement,
        ]
        answer = subprocess.run(
            command, capture_output=True, text=True, encoding="utf-8", errors="replace", check=False
        )
        found = sorted(folder.glob("*.whl"))
        if not found:
            raise NotFetched(f"{requirement}: {answer.stderr.strip()[-300:]}")
    return found[0]


def member(requirement: str, name: str) -> bytes:
    """A file of a wheel."""
    with zipfile.ZipFile(wheel(requirement)) as archive:
        return archive.read(name)


def or_skip(function, *arguments):
    """Call a reader; without its data skip with the reason, or fail where CI is set."""
    try:
        return function(*arguments)
    except NotFetched as reason:
        if os.environ.get("CI", "").lower() == "true":
            pytest.fail(f"outside data missing in CI: {reason}")
        pytest.skip(f"outside data could not be fetched: {reason}")


@cache
def epw(requirement: str, name: str) -> pd.DataFrame:
    """Hourly columns of an EPW file: hour (1 to 24), t_C, dew_C, pressure_Pa, infrared, total and opaque (tenths)."""
    text = io.BytesIO(member(requirement, name))
    table = pd.read_csv(text, skiprows=8, header=None, encoding="latin-1")
    columns = {3: "hour", 6: "t_C", 7: "dew_C", 9: "pressure_Pa", 12: "infrared", 22: "total", 23: "opaque"}
    return table[list(columns)].rename(columns=columns).astype(float)


def chicago() -> pd.DataFrame:
    """Chicago O'Hare TMY3 (NREL, public domain)."""
    return epw(DIYEPW, "diyepw/data/tmy_epw_files/USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw")


def northway() -> pd.DataFrame:
    """Northway, Alaska, TMY3 (NREL, public domain)."""
    return epw(DIYEPW, "diyepw/data/tmy_epw_files/USA_AK_Northway.AP.702910_TMY3.epw")


def baltimore() -> pd.DataFrame:
    """Baltimore TMY2 (NREL, public domain)."""
    return epw(BUILDING, "building_plus/demo_files/4A_USA_MD_BALTIMORE_TMY2.epw")


def amsterdam() -> pd.DataFrame:
    """Amsterdam, International Weather for Energy Calculations (ASHRAE 2001)."""
    return epw(PVLIB, "pvlib/data/NLD_Amsterdam062400_IWEC.epw")


@dataclass(frozen=True)
class Record:
    """A radiation station's nights: mean values of about half an hour each."""

    name: str
    elevation_m: float
    table: pd.DataFrame


def _as_record(name: str, elevation_m: float, longitude: float, latitude: float, minutes: pd.DataFrame) -> Record:
    """Night values only; adds sun elevation and true solar hour."""
    sun = pvlib.solarposition.get_solarposition(minutes.index, latitude, longitude)
    solar_h = (
        minutes.index.hour + minutes.index.minute / 60.0 + longitude / 15.0 + sun["equation_of_time"] / 60.0
    ) % 24.0
    whole = minutes.assign(solar_hour_h=solar_h, elevation_deg=sun["elevation"])
    return Record(name, elevation_m, whole[whole["elevation_deg"] < -3.0].dropna())


@cache
def payerne() -> Record:
    """BSRN Payerne, June 2016: hours with a SYNOP report of cloud (oktas), 20-minute means around them."""
    path = CACHE / "bsrn-pay0616.dat.gz"
    content = member(PVLIB, "pvlib/data/bsrn-pay0616.dat.gz")
    path.write_bytes(content)
    minutes = pvlib.iotools.read_bsrn(path)[0]
    lines = gzip.decompress(content).decode("ascii", errors="replace").splitlines()
    first = next(at for at, line in enumerate(lines) if line.startswith("*U1000")) + 1
    oktas = {}
    for line in lines[first:]:
        if line.startswith("*"):
            break
        groups = line.split()
        if len(groups) > 2 and groups[2][0] in "012345678":
            oktas[pd.Timestamp(2016, 6, int(groups[0][:2]), int(groups[0][2:4]), tz="UTC")] = int(groups[2][0])
    smooth = (
        minutes[["lwd", "temp_air", "relative_humidity", "pressure"]].rolling(21, center=True, min_periods=15).mean()
    )
    hours = smooth.reindex(pd.DatetimeIndex(list(oktas))).assign(cloud_frac=[n / 8.0 for n in oktas.values()])
    return _as_record("Payerne", 491.0, 6.944, 46.815, _named(hours))


@cache
def alamosa() -> Record:
    """SURFRAD Alamosa, 1 January 2016, a clear winter night at 2.3 km: half-hour means."""
    path = CACHE / "surfrad-slv16001.dat"
    path.write_bytes(member(PVLIB, "pvlib/data/surfrad-slv16001.dat"))
    minutes = pvlib.iotools.read_surfrad(path)[0]
    chosen = minutes[["dw_ir", "temp_air", "relative_humidity", "pressure"]].rename(columns={"dw_ir": "lwd"})
    return _as_record("Alamosa", 2317.0, -105.92, 37.70, _named(chosen.resample("30min").mean().assign(cloud_frac=0.0)))


def _named(table: pd.DataFrame) -> pd.DataFrame:
    names = {"lwd": "infrared", "temp_air": "t_C", "relative_humidity": "humidity_frac", "pressure": "pressure_Pa"}
    table = table.rename(columns=names)
    return table.assign(
        humidity_frac=np.minimum(table["humidity_frac"] / 100.0, 1.0), pressure_Pa=100.0 * table["pressure_Pa"]
    )
