"""The aircraft file as frozen models in SI, linkages and throws, changes, what a file says against itself."""
