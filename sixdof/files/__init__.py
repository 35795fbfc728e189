"""The ground floor for everything read from disk: strict YAML, units, fields, complaints with file, line, key."""
