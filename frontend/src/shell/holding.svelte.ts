/** Whether another tab has the open ticket in hand: then this one looks, and changes nothing. */
class Holding {
  elsewhere = $state(false);
}

export const holding = new Holding();
