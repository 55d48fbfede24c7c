"""The pages' views: access, parse, read, respond."""
