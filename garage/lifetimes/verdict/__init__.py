"""Whether vehicle, design or repair is the likelier cause of early failures."""
