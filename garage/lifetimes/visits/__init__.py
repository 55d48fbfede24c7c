"""How often vehicles visit, and whether a silent one is still a customer."""
