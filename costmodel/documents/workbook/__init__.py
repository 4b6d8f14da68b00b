"""The model as a spreadsheet of live formulas that is handed out, and such spreadsheets, edited, read back as changes.

Tables of a case that are kept in one file, tables.xlsx, are another matter: `case/tables_xlsx.py` reads these.
"""
