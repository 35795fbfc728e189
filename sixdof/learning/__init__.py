"""What notes of flights tell of an airplane."""
