"""The model: a case in, figures out. Line, ledger, market, plan and deal are plain arithmetic; `evaluate` runs them in turn."""
