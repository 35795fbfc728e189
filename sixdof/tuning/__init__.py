"""Off-axis deviation, the search for ratios, exploring and splitting what was found."""
