"""The bench: readings typed beside the piano, safe before they are acknowledged, with the answer moving along."""
