"""What sheets are made of: marks in millimetres, paper, type, symbols."""
