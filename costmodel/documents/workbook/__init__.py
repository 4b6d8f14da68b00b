"""The model as a spreadsheet of live formulas that is handed out, and such spreadsheets, edited, read back as changes.

Tables of a case that are kept in one file, tables.xlsx, are another matter: `case/tables_xlsx.py` reads these.

Decisions. Each figure is in base units under its address as a name, since formulas are in names and stay readable; what people
read stands beside it in its own unit. Parts that are long or used several times have a cell on the sheet Helpers. An empty
input is #N/A in all that depends on it, never zero; a figure without a value is #N/A, and the sheet Checks counts those whose
status does not give the reason. Reading back takes only input cells and writes the workbook anew to compare the rest, so one of
another case or version is refused. Rounding up is `-INT(-ROUND(x,9))`, as ROUNDUP goes away from zero and programs differ on
raw binary fractions. A program that saves a file drops last digits; so a formula or an input counts as changed from the 12th or
14th on. Figures whose addresses differ only in a quarter or year make a table over time on a sheet of their own. IRR of
spreadsheets does not distinguish none, one and several rates, so the sheet Returns does what `core/rates_of_return.py` does, in
formulas. Least price and volume are stored values; the sheet Solved has, as formulas, the part of the plan that they move, down
to what is left of the net present value.
"""
