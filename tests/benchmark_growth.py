"""How times grow with steps, years, scenarios and points of a grid; run with `python -m tests.benchmark_growth`.

Processor time of sizes in turns; the least of each counts. An exponent of 1 is growth in proportion. No test asserts one.
"""

import dataclasses
import itertools
import math
import time

from costmodel.model.evaluate import evaluate
from costmodel.model.readings.recording import Recording
from costmodel.model.scenarios import open_case
from costmodel.studies.axes import parse_axis
from costmodel.studies.sweep import sweep

from .cases import DEMO, Inputs, demo

TURNS = 3
WATT, PRICE = "ledger.total.cost_per_stabilised_watt", "sales.facade.price"
STEPS, YEARS, SCENARIOS, POINTS = (10, 50, 200), (10, 20, 40), (50, 500), (1_000, 31_623, 1_000_000)


def with_steps(count):
    """The tiny line with so many more steps of one tool."""
    inputs = Inputs()
    for number in range(count):
        inputs.row("steps.csv", f"cut_{number},Cut again,front,saw,2,100,99,0,0,0,100")
        inputs.tables["steps.csv"].insert(2, inputs.tables["steps.csv"].pop())  # before the last step
        inputs.row("materials.csv", f"blades_{number},cut_{number},blade,0.001,piece,tool_hour,0")
    return inputs.load()


def of_years(count):
    """The demo with a plan of so many years."""
    return open_case(DEMO, changes={"schedule.horizon": f"{count}"})


def fresh(case):
    """A copy with nothing kept."""
    return dataclasses.replace(case)


def grid(points):
    """A sweep of the cost of a watt over so many prices of silane."""
    axis = parse_axis(demo(), "prices.silane.price=40..120 USD/kg", points)
    return sweep({"as it is": fresh(demo())}, [axis], [WATT])


def compared(count):
    """So many scenarios side by side, each with a price of its own."""
    cases = {str(k): open_case(DEMO, changes={PRICE: f"{2 + k / 1000} EUR/Wp_stabilised"}) for k in range(count)}
    return sweep(cases, [], [WATT])


GROWING = {
    "a case of more steps, one evaluation": (STEPS, with_steps, lambda case: evaluate(fresh(case))),
    "a longer plan, one evaluation": (YEARS, of_years, lambda case: evaluate(fresh(case))),
    "a longer plan, a recording": (YEARS, of_years, lambda case: Recording(fresh(case), [PRICE], ["plan.project.npv"])),
    "scenarios side by side": (SCENARIOS, lambda count: count, compared),
    "points of a grid": (POINTS, lambda count: count, grid),
}


def took(action, made):
    """Processor time of an action, in s."""
    begun = time.process_time()
    action(made)
    return time.process_time() - begun


def main():
    """Each growth in a line."""
    for name, (sizes, make, action) in GROWING.items():
        made = {size: make(size) for size in sizes}
        action(made[sizes[0]])  # imports
        turns = 1 if name.startswith("scenarios") else TURNS
        times = {size: min(took(action, made[size]) for _ in range(turns)) for size in sizes}
        (first, *_, last), seconds = sizes, ", ".join(f"{size:,}: {1e3 * each:,.0f} ms" for size, each in times.items())
        steps = [math.log(times[b] / times[a]) / math.log(b / a) for a, b in itertools.pairwise(sizes)]
        whole = math.log(times[last] / times[first]) / math.log(last / first)
        print(f"{name}: {seconds}; exponent {whole:.2f} ({', '.join(f'{each:.2f}' for each in steps)} on the way)", flush=True)


if __name__ == "__main__":
    main()
