"""What all rooms stand on: operations on values, units, declared fields, faults, roots, rates of return, whole files."""
