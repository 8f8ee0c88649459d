"""Reading photographs: charts on squared paper, and the gauge of a swatch."""
