"""What a player does with motifs in a take, and where on the neck the take lies. Pure: values in, values out."""
