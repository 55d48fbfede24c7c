"""Printed sheets: one template and one module each."""
