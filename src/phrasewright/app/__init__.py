"""One function for each thing a person does; the only place that wires the parts together."""
