"""What is handed out: reports, documents, external editions, and the workbook."""
