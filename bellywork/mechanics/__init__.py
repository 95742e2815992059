"""The board as a ribbed, crowned, shear-deformable shell on its rim."""
