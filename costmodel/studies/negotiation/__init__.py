"""Where the two sides of a deal can meet: studies of its terms that take the model many times."""
