"""What goes to the field: cautions, later set-up sheet and flight card."""
