"""Who works here: roles for signing in, skills, own working days, leave."""
