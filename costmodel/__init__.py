"""What a thin-film module costs to make and what a licence for it is worth, from a folder of tables.

    import costmodel

    case = costmodel.open_case("inputs_demo/facade", scenario="dear_silver")
    case["plan.project.npv"]                                  # a figure or an input by its address, with its unit
    case.find("silane")                                       # addresses
    case.table("plan.years")                                  # figures in rows, as a DataFrame
    case.changed({"prices.silane.price": "90 USD/kg"})        # another case; numbers are in the unit of the table
    case.sweep(["prices.silane.price=40..120 USD/kg"])        # figures over inputs
    case.solve("sales.facade.price", "plan.project.npv", 0)   # which price gives a net present value of 0
    case.risk(["plan.project.npv"], draws=10_000)             # draws of what is uncertain
    case.explain("plan.project.npv")                          # why it is what it is
    case.show("headline", "cost_stack", "by_category")        # parts of the report; `case.blocks` lists them
    case.panel("cost")                                        # sliders
    case.report("reports", kind="memo")                       # a document

`costmodel.begin_case(folder)` makes a first case; `costmodel.faults(folder)` lists what is wrong in one. Faults of inputs are
raised as `costmodel.InputFaults`, all at once, with file, row, column and what is allowed. The command line is
`costmodel --help`. Money is for decisions of people: the figures replace neither advisers nor licensed practice.
"""

from typing import TYPE_CHECKING

__version__ = "0.2.0"
__all__ = ["COST_OF_A_WATT", "Amount", "InputFaults", "OpenedCase", "begin_case", "faults", "open_case"]

if TYPE_CHECKING:
    from .api import COST_OF_A_WATT, Amount, OpenedCase, begin_case, faults, open_case
    from .core.faults import InputFaults


def __getattr__(name: str) -> object:
    """The names of the door, imported when they are first asked for, so that a command starts without pandas."""
    if name not in __all__:
        raise AttributeError(f"module '{__name__}' has no attribute '{name}'; allowed: {', '.join(__all__)}")
    from importlib import import_module

    found = getattr(import_module(".core.faults" if name == "InputFaults" else ".api", __name__), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return [*__all__, "__version__"]
