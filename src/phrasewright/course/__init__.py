"""What the studio remembers: people, takes, and every state a lesson has had; lessons are known by id alone."""
