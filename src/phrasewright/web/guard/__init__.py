"""What stands between the network and the studio; every request passes here first."""
