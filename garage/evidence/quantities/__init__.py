"""What is read at a vehicle: its units, what each quantity may be, and checks of a reading."""
