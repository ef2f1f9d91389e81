"""What is around the controller: people, and what the hardware does by itself."""
