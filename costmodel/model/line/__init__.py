"""The line: how many plates enter each step, how long tools are busy, how many tools that takes."""
