"""Prints the backtest on invented loops: python -m demo.water [--tuning] [--loops N] [--earned]."""

import argparse

from apps.ahead.engine.backtest import backtest, elsewhere, lines
from demo.water.judging import JUDGING, TUNING, cases


def main() -> None:
    """Print the table of the judging seeds, or of those that the forecast was tuned on."""
    parser = argparse.ArgumentParser(prog="python -m demo.water", description=__doc__)
    parser.add_argument("--tuning", action="store_true", help="the seeds for tuning instead")
    parser.add_argument("--loops", type=int, default=len(JUDGING), help="how many loops")
    parser.add_argument("--earned", action="store_true", help="print ratios of errors as data")
    asked = parser.parse_args()
    seeds = (TUNING if asked.tuning or asked.earned else JUDGING)[: max(1, asked.loops)]
    found = cases(seeds)
    print(f"{len(seeds)} loops, {len(found)} origins, seeds {seeds[0]} to {seeds[-1]}")
    table = backtest(found)
    if asked.earned:
        for measurand, ratios in elsewhere(table).items():
            print(f'    "{measurand}": {ratios},'.replace("'", '"'))
        return
    for line in lines(table):
        print(line)


if __name__ == "__main__":
    main()
