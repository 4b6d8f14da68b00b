"""Cases for the tests: the demo, and a tiny line of three steps whose figures can be worked by hand."""
from __future__ import annotations

import dataclasses
import tempfile
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from costmodel.case.changes import with_values
from costmodel.case.checks.deal_checks import DEAL_TABLES
from costmodel.case.load import load_case
from costmodel.case.range_records import BEFORE
from costmodel.case.whole_case import Case
from costmodel.model.as_bought import as_bought

ROOT = Path(__file__).resolve().parents[1]
DEMO = ROOT / "inputs_demo" / "facade"
FIELD = ROOT / "inputs_demo" / "field"

EVIDENCE = {"kind": "invented", "source": "invented for this test", "date": "2026-11-02", "by": "test author"}

DOCUMENT = """\
title: Tiny line
story: Three steps with rework, in round numbers.
currency: EUR

product:
  length: 1 m
  width: 0.5 m
  active_area_share: 80 %
  initial_efficiency: 10 %
  stabilisation_ratio: 75 %
  kind: invented
  source: invented for this test
  date: 2026-11-02
  by: test author

site:
  scheduled_time: 1000 h
  crews: 2
  kind: invented
  source: invented for this test
  date: 2026-11-02
  by: test author

target:
  mode: sized
  basis: Wp_stabilised
  output: 1.08 MWp_stabilised
  kind: invented
  source: invented for this test
  date: 2026-11-02
  by: test author
"""

TABLES = {
    "steps.csv": """
id,title,stage,tool,process_time [s],rate_efficiency [%],first_pass_yield [%],rework_share [%],rework_success [%],\
load_loss [%],processed_share [%]
cut,Cut,front,saw,90,100,60,100,50,0,100
coat,Coat,front,coater,1080,100,75,40,50,0,100
press,Press,back,stamp,300,100,80,0,0,0,50
""",
    "tools.csv": """
id,title,price [currency],currency,price_year,freight_and_duty [%],installation [%],life [year],technical_life [year],\
load_size [plate],planned_downtime [%],unplanned_downtime [%],\
engineering_time [%],maintenance [%/year],operators [person],role,installed [tool],footprint [m2],area,in_all_tools
saw,saw,100000,EUR,2026,5,15,10,10,1,7.5,4,1,5,0.4,operator,2,0,hall,yes
coater,coater,400000,USD,2026,10,15,5,5,10,10,8,2,4,0.2,operator,4,0,hall,yes
stamp,stamp,50000,EUR,2026,0,0,10,10,4,10,5,5,2,0.4,operator,1,0,hall,yes
""",
    "areas.csv": """
id,title,charge [currency/m2/year],currency
hall,hall,120,EUR
""",
    "layers.csv": """
id,title,step,thickness [nm],rate [nm/s],purge_time [min],settling_time [s],settling,density [g/cm3],precursor,utilisation [%],\
thickness_spread [%],spread_loss_factor [1]
absorber,absorber,coat,300,0.5,2,0,inside_purge,2.2,silane,20,0,2
""",
    "gases.csv": """
id,layer,item,flow [slm]
absorber_hydrogen,absorber,hydrogen,5
""",
    "coaters.csv": """
id,step,transport_along,gap [mm],lock_time [s]
stamp,press,length,200,30
""",
    "coatings.csv": """
id,title,step,item,thickness [nm],dynamic_rate [nm*m/min],cathodes [1],density [g/cm3],deposition_efficiency [%],\
target_utilisation [%],recovered_share [%]
mirror,mirror,press,metal,100,60,2,10,50,80,60
""",
    "materials.csv": """
id,step,item,amount [unit/per],unit,per,loss [%]
glass,cut,glass,0.5,m2,plate_entering,20
blades,cut,blade,0.02,piece,tool_hour,0
vent,coat,nitrogen,2,Nm3,load,0
wipes,press,wipe,2,piece,plate,0
foil,press,foil,1.1,m2,m2,0
box,press,box,1,piece,module,0
""",
    "prices.csv": """
id,title,group,price [currency/unit],currency,unit,price_year,freight [%],duty [%]
glass,glass,glass,8,USD,m2,2026,10,15
blade,saw blade,consumables,40,EUR,piece,2026,0,0
nitrogen,nitrogen,gases,0.5,EUR,Nm3,2026,0,0
hydrogen,hydrogen,gases,2,EUR,Nm3,2026,0,0
silane,silane,gases,100,EUR,kg,2026,0,0
metal,metal target,targets,200,EUR,kg,2026,0,0
wipe,wipe,consumables,0.1,EUR,piece,2026,0,0
foil,foil,foils,2,EUR,m2,2026,0,0
box,box,finishing,1.5,EUR,piece,2026,0,0
""",
    "metals.csv": """
id,title,item,quote [currency/unit],currency,unit,refining_share [%]
metal,metal,metal,800,EUR,kg,37.5
""",
    "utilities.csv": """
id,title,price [currency/unit],currency,unit,price_year
electricity,electricity,0.2,EUR,kWh,2026
""",
    "tool_utilities.csv": """
id,tool,utility,when_processing [unit],when_idle [unit],unit
saw_electricity,saw,electricity,4,2,kW
coater_electricity,coater,electricity,20,8,kW
stamp_electricity,stamp,electricity,10,1,kW
""",
    "crew.csv": """
id,title,heads [person],per,wage [currency/year],currency,burden [%]
operator,operator,1,crew,30000,EUR,20
""",
    "money.csv": """
id,title,code,exchange_rate [1],change [%/year]
eur,euro,EUR,1,0
usd,US dollar,USD,0.5,0
""",
    "ranges.csv": """
id,address,distribution,low [unit],mode [unit],high [unit],unit,group,known
saw_price,tools.saw.price,triangular,80000,100000,150000,EUR,equipment,after_purchase
""",
}


def column_name(header: str) -> str:
    """The name in a header such as `life [year]`."""
    return header.split(" [")[0]


def table(text: str) -> list[list[str]]:
    """The cells of a table written without its evidence, and evidence beside each row."""
    header, *rows = [line.split(",") for line in text.strip().splitlines()]
    return [header + list(EVIDENCE), *(row + list(EVIDENCE.values()) for row in rows)]


def write_table(path: Path, rows: list[list[str]]) -> None:
    """Write cells into a file."""
    path.write_text("\n".join(",".join(row) for row in rows) + "\n", encoding="utf-8")


class Inputs:
    """The texts of a case, the tiny one unless told, altered cell by cell, then written into a folder."""

    def __init__(self, document: str = DOCUMENT, tables: Mapping[str, str] = TABLES) -> None:
        self.document = document
        self.documents: dict[str, str] = {}  # other YAML files by name
        self.tables: dict[str, list[list[str]]] = {file: table(text) for file, text in tables.items()}

    def _place(self, file: str, identity: str, column: str) -> tuple[list[str], int]:
        header, *rows = self.tables[file]
        return next(row for row in rows if row[0] == identity), [column_name(cell) for cell in header].index(column)

    def cell(self, file: str, identity: str, column: str, value: str) -> Inputs:
        """Set a cell."""
        row, number = self._place(file, identity, column)
        row[number] = value
        return self

    def header(self, file: str, column: str, header: str) -> Inputs:
        """Set the header of a column."""
        names = [column_name(cell) for cell in self.tables[file][0]]
        self.tables[file][0][names.index(column)] = header
        return self

    def row(self, file: str, cells: str) -> Inputs:
        """Put a row at the end."""
        self.tables[file].append(cells.split(",") + list(EVIDENCE.values()))
        return self

    def drop_row(self, file: str, identity: str) -> Inputs:
        """Take a row out."""
        self.tables[file] = [row for row in self.tables[file] if row[0] != identity]
        return self

    def drop_column(self, file: str, column: str) -> Inputs:
        """Take a column out."""
        number = [column_name(cell) for cell in self.tables[file][0]].index(column)
        self.tables[file] = [row[:number] + row[number + 1:] for row in self.tables[file]]
        return self

    def yaml(self, old: str, new: str) -> Inputs:
        """Put other text into case.yaml; the old one must stand there once."""
        if self.document.count(old) != 1:
            raise ValueError(f"'{old}' stands {self.document.count(old)} times in case.yaml; allowed: once")
        self.document = self.document.replace(old, new)
        return self

    def other_yaml(self, file: str, old: str, new: str) -> Inputs:
        """Put other text into another YAML file; the old one must stand there once."""
        if self.documents[file].count(old) != 1:
            raise ValueError(f"'{old}' stands {self.documents[file].count(old)} times in {file}; allowed: once")
        self.documents[file] = self.documents[file].replace(old, new)
        return self

    def write(self, folder: Path) -> Path:
        """Write the case into a folder."""
        for file, rows in self.tables.items():
            write_table(folder / file, rows)
        for file, text in ({"case.yaml": self.document} | self.documents).items():
            (folder / file).write_text(text, encoding="utf-8")
        return folder

    def load(self) -> Case:
        """The case read from a folder that is deleted again."""
        with tempfile.TemporaryDirectory() as folder:
            return load_case(self.write(Path(folder)))


def in_one_draw(case: Case, values: Mapping[str, float]) -> Case:
    """The plant as bought of a case in one draw: sized for what is known before purchase, then met by the rest."""
    early = {row.address for row in case.ranges.values() if row.known == BEFORE}
    plant = as_bought(with_values(case.design, {a: v for a, v in values.items() if a in early}))
    return with_values(plant, {a: v for a, v in values.items() if a not in early})


def pooled_inputs() -> Inputs:
    """The tiny case with its saw doing the pressing as well."""
    inputs = Inputs().cell("steps.csv", "press", "tool", "saw").drop_row("tools.csv", "stamp")
    return inputs.drop_row("tool_utilities.csv", "stamp_electricity")


@lru_cache(maxsize=1)
def demo() -> Case:
    """The demo case."""
    return load_case(DEMO)


def without_plan(case: Case) -> Case:
    """The case without plan.yaml, deal.yaml and their tables, for laws of line, ledger and market."""
    sections = ("schedule", "returns", "working_capital", "outlay", "tax", "loan", "closing", "learning", "licence", "licensor",
                "negotiation")
    plan_tables = ("ramp", "sales", "payments", "capital", "refurbishments", "escalations", "expansions", "other_lines",
                   *DEAL_TABLES)
    gone = (*sections, *plan_tables)
    ranges = {name: row for name, row in case.ranges.items() if row.address.split(".")[0] not in gone}
    return dataclasses.replace(case, ranges=ranges, plan_sections=None, deal_sections=None, **{name: {} for name in plan_tables})


@lru_cache(maxsize=1)
def demo_line() -> Case:
    """The demo without its plan."""
    return without_plan(demo())


@lru_cache(maxsize=1)
def tiny() -> Case:
    """The tiny case."""
    return Inputs().load()
