"""What is handed over: reports, documents, editions for outside, and the workbook."""
