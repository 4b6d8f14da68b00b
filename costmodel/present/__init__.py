"""How results look: figures for people, tables, charts, sentences, pages. Nothing of the model is computed here."""
