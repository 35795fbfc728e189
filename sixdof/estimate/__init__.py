"""From what a flyer measured to the numbers the flight model needs."""
