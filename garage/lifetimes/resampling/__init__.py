"""Intervals by drawing vehicles again."""
