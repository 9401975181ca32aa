"""Writes the invented data pack of the sample site Brindlemoor Bindery and its truth: python tests/make_data_pack.py.

The truth comes from physics of its own (`pack_air`, `pack_roof`, `pack_store`, `pack_plant`): none of the package's
formulas are used. The same two calls serve studies: `make_truth(config, seed)` and `make_logs(truth, faults, seed)`.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from pack_bills import SPRAYED_FROM, Bill, make_bills
from pack_checks import Noted, make_tests
from pack_config import Config, small_config
from pack_faults import Faults, Planted, plant_in_logger
from pack_files import Files, ac_file, bms_file, meter_file, rain_file, roof_files
from pack_nights import MEANINGS, night_table
from pack_readings import logger_table
from pack_site import site_text
from pack_truth import Truth, make_truth

__all__ = ["Config", "Faults", "Made", "Truth", "make_logs", "make_truth", "pack", "small_config", "swapped_pack"]

HERE = Path(__file__).parent
FOLDER = HERE.parent / "sample_sites" / "brindlemoor_bindery"
TRUTH_FILE = HERE / "data_pack_truth.json"
SEED = 20250926


@dataclass(frozen=True)
class Made:
    """What an auditor is handed, and what is wrong with it.

    `files` holds path in the site's folder -> content; `tests` the results noted on site; `bills` how they truly were.
    """

    files: Files
    planted: list[Planted]
    tests: list[Noted]
    bills: list[Bill] = field(default_factory=list)

    def write(self, folder: Path) -> None:
        """Write all files below a folder."""
        for name, content in self.files.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)


def make_logs(truth: Truth, faults: Faults, seed: int) -> Made:
    """Turn the truth into the files of a site: logs, bills and site file.

    Parameters
    ----------
    truth : Truth
        What happened.
    faults : Faults
        What is wrong with the records.
    seed : int
        Of scatter and of the places of faults.

    Returns
    -------
    Made
    """
    random = [np.random.default_rng([seed, number]) for number in range(10, 16)]
    table = logger_table(truth, faults, random[0])
    planted = plant_in_logger(table, faults, random[1])
    files: Files = {}
    for more, found in (roof_files(table, faults), bms_file(truth, faults, random[2]),
                        rain_file(truth, faults, random[3]), meter_file(truth, faults)):
        files |= more
        planted += found
    bill_files, found, bills = make_bills(truth, faults, random[4])
    tests = make_tests(truth, faults, random[5])
    files |= ac_file(truth) | bill_files
    files["site.toml"] = site_text(truth.config, faults, tests).encode("utf-8")
    return Made(files, planted + found, tests, bills)


def pack() -> tuple[Truth, Made]:
    """The sample site's pack."""
    truth = make_truth(Config(), SEED)
    return truth, make_logs(truth, Faults(), SEED)


def swapped_pack() -> tuple[Truth, Made]:
    """Nine nights whose supply and return sensors changed places; written nowhere."""
    truth = make_truth(small_config(), SEED)
    return truth, make_logs(truth, Faults(swapped_pair=True), SEED)


def truth_text(truth: Truth, made: Made, faults: Faults) -> str:
    """The truth file: what each number means, nights, totals, planted faults, bills."""
    nights = [_rounded(night) for night in night_table(truth)]
    amounts = [name for name in MEANINGS if name.endswith(("_kWh", "_L", "_h", "_mm"))]
    without = truth.never_sprayed.rows
    told = {
        "about": "The truth behind sample_sites/brindlemoor_bindery, for tests only; tests/make_data_pack.py wrote it.",
        "meaning": MEANINGS,
        "totals": {name: round(sum(night[name] for night in nights), 1) for name in amounts},
        "never_sprayed": {"ac_kWh": round(without["ac_J"].sum() / 3.6e6, 1),
                          "makeup_L": round(without["makeup_kg"].sum() / 0.9982, 1)},
        "plant": truth.config.plant._asdict(),
        "instruments": {"return_offset_K": faults.return_offset_K, "flow_gain_frac": faults.flow_gain_frac,
                        "level_offset_pct": faults.level_offset_pct, "level_gain_frac": faults.level_gain_frac,
                        "gauge_gain_frac": faults.gauge_gain_frac, "clock_fast_min": faults.clock_fast_min,
                        "clock_drift_min_day": faults.clock_drift_min_day},
        "negative_nights": [night["date"] for night in nights if night["pipe_kWh"] < 0.0],
        "nights": nights,
        "planted": [item._asdict() for item in made.planted],
        "bills": {"sprayed_from": SPRAYED_FROM.isoformat(),
                  "saved_kWh": round(sum(bill.saved_kWh for bill in made.bills), 1),
                  "each": [[f"{bill.first}", f"{bill.last}", bill.billed_kWh, round(bill.used_kWh, 1),
                            round(bill.saved_kWh, 1)] for bill in made.bills]},
    }
    return _json(told)


def _rounded(night: dict[str, Any]) -> dict[str, Any]:
    return {name: round(float(value), 3) if name != "date" else value for name, value in night.items()}


def _json(told: dict[str, Any]) -> str:
    """JSON with one line a night, a fault or a bill."""
    parts = []
    for name, value in told.items():
        if isinstance(value, list):
            inner = ",\n  ".join(json.dumps(item, ensure_ascii=False) for item in value)
            parts.append(f'"{name}": [\n  {inner}\n ]')
        elif isinstance(value, dict):
            inner = ",\n  ".join(f"{json.dumps(key)}: {json.dumps(item, ensure_ascii=False)}"
                                 for key, item in value.items())
            parts.append(f'"{name}": {{\n  {inner}\n }}')
        else:
            parts.append(f'"{name}": {json.dumps(value)}')
    return "{\n " + ",\n ".join(parts) + "\n}\n"


def main() -> None:
    """Write the sample folder's files and the truth file."""
    truth, made = pack()
    made.write(FOLDER)
    TRUTH_FILE.write_text(truth_text(truth, made, Faults()), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
