package org.carrybeat.phone

import org.junit.Assert.assertEquals
import org.junit.Test

class LettersTest {
    @Test
    fun `pages of text follow the phone's size of letters`() {
        assertEquals(16, Letters.size(1f))
        assertEquals(21, Letters.size(1.3f))
        assertEquals(32, Letters.size(2f))
    }

    @Test
    fun `a size that no page takes is one that it does`() {
        assertEquals(8, Letters.size(0f))
        assertEquals(72, Letters.size(9f))
    }
}
