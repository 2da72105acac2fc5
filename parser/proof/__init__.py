"""Is it safe from anywhere? Swept moves against solids, safe starts, the verdict, and the rules behind them."""
