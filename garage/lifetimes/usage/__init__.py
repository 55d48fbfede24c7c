"""How far a vehicle goes in a year."""
