"""Studies: the model taken many times. They know addresses of inputs and figures, and nothing of how a figure is made."""
