"""Tests of costmodel."""
