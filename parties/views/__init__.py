"""Pages of accounts, people, registers and the installation."""
