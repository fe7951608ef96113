"""Pages of running text: setup card, traveller, measuring sheet, proof, lists."""
