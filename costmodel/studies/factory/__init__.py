"""Answers to questions that take a ranking, or the model more than once: bottlenecks, minutes, choices."""
