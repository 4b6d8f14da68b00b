"""The line: how many plates enter each step, how long tools are busy, how many tools that takes.

Decisions. A batch cycle is the step's process time, its phases (each with the number of loads between occurrences) and its
films. Carriers count as tools that are busy over several steps, longer by the downtime of the tools they sit in (Little's law).
Films of one step are sputtered in one passage: the slowest zone of the coater, or its lock, is part of the cycle, and no other
zone is. The active area is a stated share or follows from cells.csv. The time in the light follows from the dose, summed
through the seasons; racks outdoors follow the longest stay, stock the mean. The sun shines in all hours, so its time counts in
proportion to scheduled ones.
"""
