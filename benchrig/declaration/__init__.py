"""What the builder declares: the airframe, where its sensor sits, and what each actuator does."""
