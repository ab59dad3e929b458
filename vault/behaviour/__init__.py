"""What an axis does: facts and margins from one state, in SI, without words for them."""
