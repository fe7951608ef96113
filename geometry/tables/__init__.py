"""What is published or remembered: interfaces, axles, adapters, screws, loads, materials, cautions."""
