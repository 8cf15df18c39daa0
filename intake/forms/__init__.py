"""What riders and the desk type, checked before it is stored."""
