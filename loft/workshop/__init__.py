"""The floor: designs, tickets, steps, and what each ticket still waits for."""
