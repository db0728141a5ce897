"""The verdict: which wirings the evidence leaves, and what that means for each cell and each actuator."""
