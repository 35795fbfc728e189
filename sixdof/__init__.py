"""Six-degree-of-freedom trim testbed for model airplanes."""
