"""What is checked, and what helps with it: README.md beside this file says how to run what."""
