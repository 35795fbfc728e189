"""What goes to the field on paper: the set-up sheet, the flight card."""
